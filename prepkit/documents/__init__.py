"""Documents: list, sheet, record, labels, chart, audit, logbook and proof in their formats; the JSON Schemas."""
