"""Tables that grow by a few cases at a time, and whose rows wait for their file on the disk.

What of a table is known of all its rows alone, its columns and their types, is kept; the rows are
not, so that a table may have more of them than fit into the memory.  The files come out as they
would from one table of all rows.
"""

import pickle
import tempfile
import weakref
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

import pandas as pd

from borestudy.files import replacing
from borestudy.results.tables.files import is_text

if TYPE_CHECKING:
    import pyarrow as pa

#: Rows that Parquet keeps together: as many as take little memory, and enough to be read fast.
ROW_GROUP = 100_000
#: Tells a spreadsheet that letters beyond ASCII follow.
MARK = b"\xef\xbb\xbf"
#: How much of a file is copied at a time.
BLOCK = 1 << 20
NUMBERS = {"int64", "float64"}


@dataclass
class _Column:
    """What is known of a column: types of its cells, how many rows have it, whether any is empty.

    ``of_truth`` says of cells that are objects to Python whether all of them are true or false.
    """

    kinds: set[str] = field(default_factory=set)
    rows: int = 0
    empty: bool = False
    of_truth: bool = True

    def add(self, cells: "pd.Series[Any]") -> None:
        self.rows += len(cells)
        known = int(cells.count())
        self.empty |= known < len(cells)
        if known:
            kind = str(cells.dtype)
            self.kinds.add(kind)
            if kind != "bool":
                inferred = pd.api.types.infer_dtype(cells) if kind == "object" else kind
                self.of_truth &= inferred == "boolean"

    def dtype(self, total: int) -> str:
        """The type that pandas finds in all of so many rows together."""
        empty = self.empty or self.rows < total
        if not self.kinds:
            return "float64"  # without any number it is still a column of numbers
        if self.kinds <= NUMBERS:
            return "float64" if empty or self.kinds != {"int64"} else "int64"
        if self.kinds == {"bool"}:
            return "object" if empty else "bool"
        return self.kinds.copy().pop() if len(self.kinds) == 1 else "object"


class GrowingTable:
    """A table that rows are appended to, and that is written as CSV and as Parquet.

    Parameters
    ----------
    held : int
        Bytes of rows that stay in memory; the others go to a file without a name, which is gone
        with the process.
    folder : path, optional
        Where that file is, by default where the system has its temporary files.
    """

    def __init__(self, held: int = 0, folder: Path | str | None = None) -> None:
        self._held, self._folder = held, folder
        self._frames: list[pd.DataFrame] = []
        self._bytes = 0
        self._columns: dict[str, _Column] = {}
        self._stored: IO[bytes] | None = None
        self.rows = 0

    def append(self, table: pd.DataFrame) -> None:
        """Put the rows of a table below those that are there; its columns need not be the same."""
        for name in map(str, table.columns):
            self._columns.setdefault(name, _Column()).add(table[name])
        self.rows += len(table)
        if not len(table):
            return
        self._frames.append(table)
        self._bytes += int(table.memory_usage().sum())
        if self._bytes > self._held:
            if self._stored is None:
                self._stored = tempfile.TemporaryFile(dir=self._folder)  # noqa: SIM115
                weakref.finalize(self, self._stored.close)
            for frame in self._frames:
                pickle.dump(frame, self._stored, protocol=pickle.HIGHEST_PROTOCOL)
            self._frames, self._bytes = [], 0

    def columns(self, without: Callable[[str, bool], bool] | None = None) -> dict[str, str]:
        """The columns in the order in which they came, and the type of each.

        ``without`` says of a column, by its name and whether no row has anything in it, whether it
        is left out.
        """
        return {
            name: found.dtype(self.rows)
            for name, found in self._columns.items()
            if without is None or not without(name, not found.kinds)
        }

    def parts(self, columns: dict[str, str] | None = None) -> Iterator[pd.DataFrame]:
        """The table in parts, each with all columns and the types of the whole."""
        columns = self.columns() if columns is None else columns
        if not self.rows:
            yield pd.DataFrame(columns=list(columns))
        for frame in self._all():
            whole = frame if list(frame) == list(columns) else frame.reindex(columns=list(columns))
            kinds = dict(zip(columns, whole.dtypes, strict=True))
            other = {name: kind for name, kind in columns.items() if kinds[name] != kind}
            yield whole.astype(other) if other else whole

    def _all(self) -> Iterator[pd.DataFrame]:
        if self._stored is not None:
            end = self._stored.tell()
            self._stored.seek(0)
            while self._stored.tell() < end:
                yield pickle.load(self._stored)  # which this process itself has written
        yield from self._frames

    def frame(self) -> pd.DataFrame:
        """All rows as one table."""
        return pd.concat(list(self.parts()), ignore_index=True)

    def write_csv(
        self,
        path: Path | str,
        only: Collection[str] | None = None,
        columns: dict[str, str] | None = None,
    ) -> int:
        """Write the table as CSV, as `write_table` does, and tell the number of rows written.

        Parameters
        ----------
        path : path
            The file.
        only : collection of str, optional
            The cases whose rows are written; by default all.
        columns : dict, optional
            Of `columns`, those that are written; by default all.
        """
        written, plain = 0, True
        with replacing(path) as unfinished:
            with unfinished.open("w", encoding="utf-8", newline="") as stream:
                for place, part in enumerate(self.parts(columns)):
                    shown = part if only is None else part[part["case"].isin(only)]
                    text = shown.to_csv(index=False, header=place == 0)
                    plain &= text.isascii()
                    stream.write(text)
                    written += len(shown)
            if not plain:
                _put_before(MARK, unfinished)
        return written

    def write_parquet(self, path: Path | str, columns: dict[str, str] | None = None) -> int:
        """Write the table as Parquet, in groups of rows, and tell the number of rows written."""
        import pyarrow.parquet as pq

        columns = self.columns() if columns is None else columns
        schema = self._schema(columns)
        with (
            replacing(path) as unfinished,
            pq.ParquetWriter(unfinished, schema, compression="zstd") as writer,
        ):
            for rows in _gathered(self.parts(columns)):
                writer.write_table(_arrow_table(rows, schema))
        return self.rows

    def _schema(self, columns: dict[str, str]) -> "pa.Schema":
        """Columns of numbers, of what is true or false, and of texts, of which any may be empty."""
        import pyarrow as pa

        kinds = {"float64": pa.float64(), "int64": pa.int64(), "Int64": pa.int64()}

        def kind(name: str, dtype: str) -> "pa.DataType":
            if dtype in kinds and (self._columns[name].kinds or not is_text(name)):
                return kinds[dtype]
            found = self._columns[name]
            return pa.bool_() if found.kinds and found.of_truth else pa.string()

        return pa.schema([(name, kind(name, dtype)) for name, dtype in columns.items()])


def _gathered(parts: Iterator[pd.DataFrame]) -> Iterator[pd.DataFrame]:
    """Parts joined to at least `ROW_GROUP` rows each, but for the last."""
    waiting: list[pd.DataFrame] = []
    for part in parts:
        waiting.append(part)
        if sum(map(len, waiting)) >= ROW_GROUP:
            yield pd.concat(waiting, ignore_index=True)
            waiting = []
    if waiting:
        yield pd.concat(waiting, ignore_index=True)


def _arrow_table(rows: pd.DataFrame, schema: "pa.Schema") -> "pa.Table":
    import pyarrow as pa

    texts = [
        one.name for one in schema if one.type == pa.string() and rows[one.name].dtype != "str"
    ]
    told = {name: rows[name].astype(object).map(str, na_action="ignore") for name in texts}
    return pa.Table.from_pandas(rows.assign(**told), schema=schema, preserve_index=False)


def _put_before(mark: bytes, path: Path) -> None:
    """Put a few bytes before what a file has, without having all of it in memory."""
    with path.open("r+b") as stream:
        carried = mark
        while block := stream.read(BLOCK):
            stream.seek(-len(block), 1)
            found = carried + block
            stream.write(found[: len(block)])
            carried = found[len(block) :]
        stream.write(carried)
