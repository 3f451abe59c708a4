from .answers import Answers as Answers
from .entries import (
    Entries as Entries,
    EntryError as EntryError,
    Filled as Filled,
    entries_of as entries_of,
    read_entries as read_entries,
    with_row as with_row,
    with_text as with_text,
    without_row as without_row,
)
from .reading import corner_name as corner_name, taped_length as taped_length
from .talk import heard as heard, prompt as prompt, talk_begun as talk_begun
from .written import files_of as files_of, house_outline as house_outline, site_of_answers as site_of_answers
