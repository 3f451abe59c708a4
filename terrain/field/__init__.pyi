from .asbuilt.as_built import check_as_built as check_as_built
from .asbuilt.cause_words import cause_words as cause_words
from .asbuilt.model import AsBuilt as AsBuilt, BuiltShot as BuiltShot
from .asbuilt.shots import read_built as read_built
from .asbuilt.table import as_built_csv as as_built_csv, as_built_plain as as_built_plain
from .asbuilt.words import off_number as off_number, off_words as off_words
from .crew.barrow_squares import BarrowSquares as BarrowSquares
from .crew.day import CrewDay as CrewDay
from .crew.day_words import (
    day_rows as day_rows,
    decide_words as decide_words,
    grade_words as grade_words,
    hold_lines as hold_lines,
    hold_words as hold_words,
    lift_words as lift_words,
    sill_lines as sill_lines,
    squares_words as squares_words,
    stake_words as stake_words,
    title_words as title_words,
    total_words as total_words,
    way_words as way_words,
)
from .crew.table import crew_plain as crew_plain
from .crew.worked_day import crew_day as crew_day
from .first_survey import (
    order_after_survey as order_after_survey,
    survey_words as survey_words,
    told_first as told_first,
)
from .next_places import (
    ON_SOIL as ON_SOIL,
    NextPlace as NextPlace,
    before_shooting as before_shooting,
    ground_part as ground_part,
    next_untaken as next_untaken,
    where_next as where_next,
)
from .setout.known import firm_points as firm_points, known_points as known_points
from .setout.level import asked_level as asked_level, level_shot as level_shot
from .setout.model import SetOut as SetOut, Stake as Stake, Tapes as Tapes
from .setout.set_out import set_out as set_out
from .setout.table import known_csv as known_csv, set_out_csv as set_out_csv, set_out_plain as set_out_plain
from .setout.words import (
    depth_words as depth_words,
    offset_words as offset_words,
    reached_words as reached_words,
    reading_notes as reading_notes,
    rod_words as rod_words,
    show_tape as show_tape,
    side_words as side_words,
    stakes_by_tapes as stakes_by_tapes,
)
