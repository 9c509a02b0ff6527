"""Where fields and questions meet: conditions, verdicts, comparisons."""
