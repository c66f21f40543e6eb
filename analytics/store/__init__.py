"""The DuckDB file: schema, migrations and the few queries others use."""

from analytics.store.asking import HOLDER, Asking
from analytics.store.backup import backup, check, restore
from analytics.store.changes import (
    delete_set,
    edit_set,
    history,
    save_reps,
    undo_edit,
)
from analytics.store.connection import Store
from analytics.store.erase import Erased, forget, undo
from analytics.store.lookup import find_lifter, find_variant, meant_variant
from analytics.store.names import (
    NameMatch,
    match_names,
    names,
    teach_name,
    unnamed,
)
from analytics.store.pains import Pain, end_pain, pain_in_notes
from analytics.store.people import (
    add_person,
    asking_of,
    for_reader,
    for_research,
    note,
    people,
    record,
    remove_person,
    withhold,
    withholding,
)
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
    "HOLDER",
    "Asking",
    "Erased",
    "NameMatch",
    "Pain",
    "Store",
    "add_person",
    "asking_of",
    "backup",
    "bodies",
    "check",
    "delete_set",
    "edit_set",
    "end_pain",
    "find_lifter",
    "find_variant",
    "for_reader",
    "for_research",
    "forget",
    "history",
    "intakes",
    "lifters",
    "load_fit",
    "logged",
    "match_names",
    "meant_variant",
    "movements",
    "names",
    "note",
    "pain_in_notes",
    "people",
    "private_files",
    "record",
    "rejected",
    "remove_person",
    "reps",
    "restore",
    "save_fit",
    "save_reps",
    "sets",
    "sets_and_pains",
    "sets_hash",
    "teach_name",
    "undo",
    "undo_edit",
    "unnamed",
    "variant_counts",
    "variants",
    "withhold",
    "withholding",
]
