"""The DuckDB file: schema, migrations and the few queries others use."""

from analytics.store.backup import backup, check, restore
from analytics.store.changes import (
    delete_set,
    edit_set,
    edit_sets,
    history,
    save_reps,
    undo_edit,
)
from analytics.store.connection import Store
from analytics.store.doubtful import doubtful_sets
from analytics.store.erase import Erased, forget, undo
from analytics.store.lookup import find_lifter, find_variant, meant_variant
from analytics.store.meanings import (
    Meaning,
    meaning_of,
    names,
    take_back_name,
    teach_name,
    teach_names,
    unnamed,
)
from analytics.store.names import NameMatch, match_names
from analytics.store.pains import Pain, end_pain, ended_pains, pain_in_notes
from analytics.store.private import private_files
from analytics.store.queries import (
    bodies,
    intakes,
    lifters,
    load_fit,
    logged,
    movements,
    rejected,
    reps,
    save_fit,
    sets,
    sets_and_pains,
    sets_hash,
    variant_counts,
    variants,
)

__all__ = [
    "Erased",
    "Meaning",
    "NameMatch",
    "Pain",
    "Store",
    "backup",
    "bodies",
    "check",
    "delete_set",
    "doubtful_sets",
    "edit_set",
    "edit_sets",
    "end_pain",
    "ended_pains",
    "find_lifter",
    "find_variant",
    "forget",
    "history",
    "intakes",
    "lifters",
    "load_fit",
    "logged",
    "match_names",
    "meaning_of",
    "meant_variant",
    "movements",
    "names",
    "pain_in_notes",
    "private_files",
    "rejected",
    "reps",
    "restore",
    "save_fit",
    "save_reps",
    "sets",
    "sets_and_pains",
    "sets_hash",
    "take_back_name",
    "teach_name",
    "teach_names",
    "undo",
    "undo_edit",
    "unnamed",
    "variant_counts",
    "variants",
]
