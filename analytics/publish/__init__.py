"""Publish: tables and notebooks in, a folder of self-contained pages out."""
