from .field_page import write_field as write_field
from .live.draft import draft_held as draft_held, draft_path as draft_path
from .live.guard import Guard as Guard
from .live.photo_desk import PhotoDesk as PhotoDesk
from .live.room import LiveRoom as LiveRoom
from .live.save import read_exactly as read_exactly, with_wish_written as with_wish_written
from .live.server import Room as Room, need_extra as need_extra, own_socket as own_socket, serve as serve
from .live.session import Session as Session
from .live.way import Way as Way
from .live.wish import wish_of_site as wish_of_site
from .new.room import NewRoom as NewRoom
from .new.session import NewYard as NewYard
from .share import write_share as write_share
