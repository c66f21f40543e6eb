"""The DuckDB file: schema, migrations and the few queries others use."""

from analytics.store.asking import HOLDER, Asking
from analytics.store.backup import backup, check, restore
from analytics.store.changes import (
    accept_set,
    delete_set,
    edit_set,
    edit_sets,
    history,
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
from analytics.store.notes import coach_note, coach_notes, note_on
from analytics.store.pains import (
    Pain,
    end_pain,
    ended_pains,
    pain_in_notes,
    pain_site,
)
from analytics.store.people import (
    add_person,
    asking_in,
    asking_of,
    for_reader,
    for_research,
    note,
    people,
    record,
    remove_person,
    said,
    withhold,
    withholding,
)
from analytics.store.private import private_files
from analytics.store.queries import (
    bodies,
    intakes,
    lifters,
    logged,
    logged_kg,
    movements,
    rejected,
    reps,
    sets,
    sets_and_pains,
    variant_counts,
    variants,
)
from analytics.store.saved import load_fit, rows_hash, save_fit, sets_hash
from analytics.store.traced import save_reps

__all__ = [
    "HOLDER",
    "Asking",
    "Erased",
    "Meaning",
    "NameMatch",
    "Pain",
    "Store",
    "accept_set",
    "add_person",
    "asking_in",
    "asking_of",
    "backup",
    "bodies",
    "check",
    "coach_note",
    "coach_notes",
    "delete_set",
    "doubtful_sets",
    "edit_set",
    "edit_sets",
    "end_pain",
    "ended_pains",
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
    "logged_kg",
    "match_names",
    "meaning_of",
    "meant_variant",
    "movements",
    "names",
    "note",
    "note_on",
    "pain_in_notes",
    "pain_site",
    "people",
    "private_files",
    "record",
    "rejected",
    "remove_person",
    "reps",
    "restore",
    "rows_hash",
    "said",
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
    "withhold",
    "withholding",
]
