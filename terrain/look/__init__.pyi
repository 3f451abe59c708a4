from .look import look_of as look_of, natural_look as natural_look
from .model import Look as Look, Sign as Sign
