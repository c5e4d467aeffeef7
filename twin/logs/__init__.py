"""A plant's own records, read, doubted and mended: the same tables a trace has."""

from twin.logs.faults import LogError, LogFault
from twin.logs.mapping import Mapping, load_mapping, mapping_of
from twin.logs.read import read_log
from twin.logs.tables import Log, Table

__all__ = ["Log", "LogError", "LogFault", "Mapping", "Table", "load_mapping", "mapping_of", "read_log"]
