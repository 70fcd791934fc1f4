"""The house's own columns, for a lab that has no file of its own yet and saved no mapping."""

from api.batches.mapping import Column, Mapping

_FIELDS = (
    *("/lab_reference", "/cylinder/tag", "/cylinder/authority", "/cylinder/specification"),
    *("/cylinder/serial", "/cylinder/manufacturer_mark"),
    *("/cylinder/service_pressure/value", "/cylinder/service_pressure/unit"),
    *("/date", "/method", "/test_pressure/value", "/test_pressure/unit", "/hold_seconds"),
    *("/total_expansion/value", "/total_expansion/unit"),
    *("/permanent_expansion/value", "/permanent_expansion/unit"),
    *("/daily_check", "/visual/internal", "/visual/external", "/use", "/disposition", "/reason"),
    *("/operator", "/rin", "/stamp/month", "/stamp/year", "/stamp/symbol"),
)
HOUSE = Mapping(
    columns=tuple(Column(field.strip("/").replace("/", " "), field) for field in _FIELDS)
)


def model_file() -> str:
    """A CSV with the heading alone."""
    return ",".join(column.column for column in HOUSE.columns) + "\r\n"
