"""The command line: parses, calls one job, prints its report."""
