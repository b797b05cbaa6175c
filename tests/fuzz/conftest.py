"""Keep pytest, which looks for examples in every module, out of what runs by hand."""

collect_ignore_glob = ["fuzz_*.py"]
