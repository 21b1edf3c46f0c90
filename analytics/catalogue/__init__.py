"""Catalogue: exercises, movement families and muscle groups, and the matching of logged names to them."""

from analytics.catalogue.exercise import Catalogue, Exercise
from analytics.catalogue.places import covering
from analytics.catalogue.reader import catalogue_of, load_catalogue

__all__ = ["Catalogue", "Exercise", "catalogue_of", "covering", "load_catalogue"]
