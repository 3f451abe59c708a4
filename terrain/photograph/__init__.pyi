from .above import PictureAbove as PictureAbove, picture_above as picture_above
from .fit import PhotoFit as PhotoFit, fit_photo as fit_photo
from .marks import (
    MarkRow as MarkRow,
    mark_rows as mark_rows,
    marked_places as marked_places,
    marks_text as marks_text,
    read_marks as read_marks,
)
from .plain import photo_plain as photo_plain
from .sun import Sun as Sun, sun_at as sun_at
from .words import NO_SET_OUT as NO_SET_OUT, TRUE as TRUE, photo_rows as photo_rows, stamp_words as stamp_words
