"""Figures, field pictures and the report page."""
