"""The catalogue as pages show it."""

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.errors import Problem
from pupilage.storage import catalogue_files


def read_catalogue() -> Catalogue:
    """Return our catalogue with the trainer's own files over it. Who may: everybody who is signed in."""
    return catalogue_files.load_catalogue()


def list_catalogue_problems() -> list[Problem]:
    """Return what is wrong with the trainer's own catalogue files; with a problem, none of them is used."""
    return list(catalogue_files.read_catalogue().problems)
