"""What people touch: the command line, the pages, the charts and the printed report."""
