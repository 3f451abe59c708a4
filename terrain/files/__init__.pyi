from .agree import ReadBack as ReadBack, read_all_back as read_all_back
from .delivered import delivered_mesh as delivered_mesh
from .formats import (
    FORMATS as FORMATS,
    is_writable as is_writable,
    need_libraries as need_libraries,
    need_place as need_place,
)
from .job import Job as Job
from .keep_off_proof import KeepOffProof as KeepOffProof, prove_keep_offs as prove_keep_offs
from .locking import locked as locked
from .manifest import (
    MANIFEST as MANIFEST,
    Run as Run,
    begun as begun,
    inputs_of as inputs_of,
    read_manifest as read_manifest,
)
from .order_plain import order_in_full as order_in_full
from .order_table import order_csv as order_csv
from .saving import held_for_saving as held_for_saving, replace as replace, save as save
from .scan_trees import (
    TREES_FILE as TREES_FILE,
    offered_trunks as offered_trunks,
    scan_plain as scan_plain,
    trees_text as trees_text,
    trunk_size as trunk_size,
    trunk_words as trunk_words,
)
from .set_check import SetCheck as SetCheck, check_set as check_set
from .sets import folder_locked as folder_locked, staged as staged, sweep as sweep
from .stage_grades import Grade as Grade, graded as graded
from .stream_plain import streams_plain as streams_plain
from .study_files import (
    keep_offs_proved as keep_offs_proved,
    write_files as write_files,
    write_models as write_models,
)
from .summary import as_json as as_json, summary_of as summary_of
from .targets import refuse_held as refuse_held
from .thinning import ThinnedMesh as ThinnedMesh
from .workbook.book import write_book as write_book
from .yard_book import write_yard_book as write_yard_book
from .yard_figures import yard_figures as yard_figures
