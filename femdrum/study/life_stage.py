"""The life of every variant, from what is stored of it: no mesh is solved for it again.

variants/<key>/life-<hash>.json belongs to one duty and one [life]; another duty makes another file beside it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import FemdrumError
from .plain import from_plain, to_plain
from .store import Store, read_json, write_text
from .study import Study, Variant, digest, inputs_of
from .work import begin, one_thread_each

if TYPE_CHECKING:
    from ..assess.life_plan import LifePlan
    from ..assess.life_result import EndLife, VariantLife

__all__ = ["LIFE_FORMAT", "life_file", "lives", "plan_key", "read_end", "read_life"]

# part of the files' names: raise it when numbers or fields change
LIFE_FORMAT = 6


def plan_key(plan: LifePlan) -> str:
    """Twelve hexadecimal digits from all that decides a life besides the variant itself."""
    measured = {
        name: hashlib.sha256(b"".join(v.tobytes() for v in (c.upper, c.lower, c.count))).hexdigest()
        for name, c in plan.measured.items()
    }
    asked = {
        "wanted": inputs_of(plan.wanted),
        "duty": [inputs_of(d) for d in plan.duty],
        "measured": measured,
        "end": inputs_of(plan.end),
        "drum": inputs_of(plan.drum),
    }
    text = json.dumps([LIFE_FORMAT, asked], sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def life_file(store: Store, variant: str, key: str) -> Path:
    """Where the life of a variant stands."""
    return store.folder(variant) / f"life-{key}.json"


def read_life(store: Store, variant: str, key: str) -> VariantLife | None:
    """A stored life; None where there is none, for want of a solution."""
    path = life_file(store, variant, key)
    if not path.is_file():
        return None
    data = read_json(path)
    if not data.get("life"):
        return None
    from ..assess.life_result import VariantLife

    return from_plain(VariantLife, data["life"])


def lives(study: Study, store: Store, workers: int, on_done: Callable[[Variant, str], None]) -> None:
    """Reckon the lives that are not stored yet. on_done: each variant with the reason why it has no life, or empty."""
    plan = study.life
    if plan is None:
        return
    key = plan_key(plan)
    if plan.end is not None and not _end_file(study, store).is_file():
        _end(study, store)
    todo = [v for v in study.variants if (store.folder(v.key) / "edge.npz").is_file()]
    todo = [v for v in todo if not life_file(store, v.key, key).is_file()]
    if workers > 1 and len(todo) > 1:
        from concurrent.futures import ProcessPoolExecutor
        from multiprocessing import get_context

        with one_thread_each():
            pool = ProcessPoolExecutor(
                min(workers, len(todo)), mp_context=get_context("spawn"), initializer=begin, initargs=((),)
            )
            with pool:
                futures = [(v, pool.submit(_one, v, plan, str(store.root), key)) for v in todo]
                for variant, future in futures:
                    on_done(variant, future.result())
        return
    for variant in todo:
        on_done(variant, _one(variant, plan, str(store.root), key))


def _map_of(variant: Variant, plan: LifePlan) -> Any:
    """What makes the map of this variant; None where none is asked."""
    if plan.drum is None or variant.part.kind != "ring":
        return None
    from ..assess.drum_map_made import made_map

    def make(found: Any, named: Any, vectors: Any) -> Any:
        return made_map(
            found, named, variant.part, variant.material, variant.machine, plan, vectors, variant.loads, variant.conditions,
            variant.accuracy,
        )  # fmt: skip

    return make


def read_end(study: Study, store: Store) -> tuple[EndLife | None, str]:
    """The stored life of the drum's end, or the reason why there is none; neither where none was asked."""
    path = _end_file(study, store)
    if not path.is_file():
        return None, ""
    data = read_json(path)
    if not data["end"]:
        return None, data["reason"]
    from ..assess.life_result import EndLife

    return from_plain(EndLife, data["end"]), data["reason"]


def _end_file(study: Study, store: Store) -> Path:
    """The end is the same for all variants: of the material and the accuracy of the first."""
    assert study.life is not None
    first = study.variants[0]
    mark = digest((study.life.wanted, first.material, first.accuracy))[:8]
    return store.root / f"drum_end-{plan_key(study.life)}-{mark}.json"


def _end(study: Study, store: Store) -> None:
    from ..assess.end_life import end_life

    plan, first = study.life, study.variants[0]
    assert plan is not None
    assert plan.end is not None
    speed = None if first.machine is None else first.machine.speed_rpm
    end, reason = None, ""
    try:
        end = end_life(plan, plan.end, first.material, speed, first.accuracy)
    except FemdrumError as error:
        reason = " ".join(str(error).split())
    record = {"format": LIFE_FORMAT, "end": None if end is None else to_plain(end), "reason": reason}
    write_text(_end_file(study, store), json.dumps(record, ensure_ascii=False, allow_nan=False) + "\n")


def _one(variant: Variant, plan: LifePlan, root: str, key: str) -> str:
    """Reckon and store one life; the reason why there is none, or empty."""
    from ..assess.life import variant_life
    from .arrays import load_edge, load_paths

    store = Store(root)
    folder = store.folder(variant.key)
    answers = store.record(variant.key)["answers"]
    vectors = {a["case"]: a["turning"] for a in answers if a["turning"]}
    proved = [a for a in answers if a["case_kind"] == "condition"] or answers
    peaks = {a["case"]: float(a["peak"]["value"] or 0.0) for a in proved if a["turning"]}
    missing = [c.name for c in variant.cases if c.name not in vectors]
    life, reason = None, ""
    if missing:
        reason = f"no solution for {', '.join(missing)}"
    else:
        try:
            life = variant_life(
                variant.key, load_edge(folder / "edge.npz"), variant.part, variant.material, variant.machine, plan, vectors,
                peaks, load_paths(folder / "paths.npz"), _map_of(variant, plan),
            )  # fmt: skip
        except FemdrumError as error:
            reason = " ".join(str(error).split())
    record: dict[str, Any] = {"format": LIFE_FORMAT, "life": None if life is None else to_plain(life), "reason": reason}
    write_text(life_file(store, variant.key, key), json.dumps(record, ensure_ascii=False, allow_nan=False) + "\n")
    return reason
