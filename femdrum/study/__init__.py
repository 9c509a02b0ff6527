"""The study file, its variants, the runner and the store."""

from .build import read_study, study_from_text
from .results import Results, StoredVariant
from .run import Event, run
from .study import Axis, Study, Variant

__all__ = ["Axis", "Event", "Results", "StoredVariant", "Study", "Variant", "read_study", "run", "study_from_text"]
