"""The look of a mound: measured signs of an unnatural shape, each with its value, bound and place."""

from terrain.look.look import natural_look
from terrain.look.model import Look, Sign

__all__ = ["Look", "Sign", "natural_look"]
