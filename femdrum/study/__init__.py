"""The study file, its variants, the runner and the store."""
