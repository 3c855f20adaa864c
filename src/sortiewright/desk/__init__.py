"""The desk: one local web app for the whole sortie, for two seats in step.

Pages call the functions that the commands call, and compute nothing themselves.
"""

from sortiewright.desk.app import make_app
from sortiewright.desk.options import PORT, DeskOptions
from sortiewright.desk.serving import Serving, free_port, own_names, serve_desk
from sortiewright.desk.shelf import Shelf, ShelfEntry

__all__ = [
    "PORT",
    "DeskOptions",
    "Serving",
    "Shelf",
    "ShelfEntry",
    "free_port",
    "make_app",
    "own_names",
    "serve_desk",
]
