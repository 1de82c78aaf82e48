"""Hostile and unlucky input."""
