"""The catalogue as pages show it."""

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.storage.catalogue_files import load_catalogue


def read_catalogue() -> Catalogue:
    """Return our catalogue with the trainer's own files over it. Who may: everybody who is signed in."""
    return load_catalogue()
