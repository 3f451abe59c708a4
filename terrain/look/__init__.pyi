from .look import natural_look as natural_look
from .model import Look as Look, Sign as Sign
