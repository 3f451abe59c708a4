"""Names the off-screen window that a machine can open, before the 3D library picks one that asks for a display."""

from __future__ import annotations

import ctypes
import os
import sys


def choose_window() -> bool:
    """False where a Linux machine has neither a graphics library nor a display."""
    if not sys.platform.startswith("linux") or "VTK_DEFAULT_OPENGL_WINDOW" in os.environ:
        return True
    for library, window in (
        ("libEGL.so.1", "vtkEGLRenderWindow"),
        ("libOSMesa.so.8", "vtkOSOpenGLRenderWindow"),
        ("libOSMesa.so.6", "vtkOSOpenGLRenderWindow"),
    ):
        try:
            ctypes.CDLL(library)
        except OSError:
            continue
        os.environ["VTK_DEFAULT_OPENGL_WINDOW"] = window
        return True
    return bool(os.environ.get("DISPLAY"))
