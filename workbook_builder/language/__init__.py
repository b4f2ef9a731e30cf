"""What one writes declarations in: names, units, sources, formulas, tables, declarations, templates, profiles."""
