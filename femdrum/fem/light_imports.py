"""What scipy.sparse draws in when it is loaded and a solve never uses.

It copies every public name of numpy, and so loads numpy's wrapper maker for Fortran and its test tools, which take more time
than the sparse matrices themselves.
"""

from __future__ import annotations

import sys
from importlib.util import LazyLoader, find_spec, module_from_spec

__all__ = ["load_lightly"]

_UNUSED = ("f2py", "testing")


def load_lightly() -> None:
    """Let those parts of numpy be loaded when something of them is first used, by the standard library's lazy loader."""
    import numpy as np

    for name in _UNUSED:
        whole = f"numpy.{name}"
        spec = None if whole in sys.modules else find_spec(whole)
        if spec is None or spec.loader is None:
            continue
        spec.loader = LazyLoader(spec.loader)
        module = module_from_spec(spec)
        sys.modules[whole] = module
        spec.loader.exec_module(module)
        setattr(np, name, module)
