"""The texts of the report in another language: marking, template and language files."""
