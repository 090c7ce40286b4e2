"""The studies of `coiltoll study`, one module each, named like the study.

A module holds one public function named like the module; its docstring is its help.
"""
