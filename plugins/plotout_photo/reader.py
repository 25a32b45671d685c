"""The two entries: a picture named in a set file, and pictures given to `plotout pricks`."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from plotout import Drawing, Place, PricksFound, PricksWanted, UserError
from plotout.kit import length, read_drawing
from plotout_photo.accuracy import error_map
from plotout_photo.as_data import report_of
from plotout_photo.corrections import Corrections, corrections_in, measured_in, thickness_in
from plotout_photo.meant import by_number, in_set
from plotout_photo.model import Known
from plotout_photo.remarks import ALL, BRIEF, remarks_of
from plotout_photo.strips import CROSSES, check_number
from plotout_photo.survey import Survey, survey
from plotout_photo.table import as_table, listed, names_by_piece, ordered
from plotout_photo.told import told_of

OWN = ("also", "resolution", "measured", "thickness", "drop", "corners", "kept")
"""Keys of a `from` table handled here; the others are the pricks reader's."""

THICKEST = 5.0  # mm: no card is thicker
MEASURED = re.compile(
    r"\s*(\d+)\s*(left|right|l|r)\s*-\s*(\d+)\s*(left|right|l|r)\s*=\s*(.+)$", re.I
)


def find(paths: Sequence[Path], wanted: PricksWanted) -> PricksFound:
    """Read pictures of one sheet. Raises UserError."""
    from plotout_photo.pictures import pictures_of

    measured = _measured(wanted)
    thick, high = _thickness(wanted)
    known = [_known(*one) for one in measured]
    made = survey(paths, dpi=wanted.resolution, known=known, thickness=high)
    said = _corrections(
        made,
        wanted,
        by_number(wanted.drop, made.at, wanted.earlier, "--drop"),
        by_number(wanted.corners, made.at, wanted.earlier, "--corner"),
    )
    found, final = ordered(made, Corrections()), ordered(made, said)
    errors = error_map(made)
    remarks, all_told = (remarks_of(made, final, said, errors, named) for named in (BRIEF, ALL))
    return PricksFound(
        table=as_table(
            made, found, final, said, paths, [text for text, _ in measured], thick
        ).encode(),
        pictures=pictures_of(made, final, errors),
        told=told_of(made, final, remarks),
        report=report_of(made, final, said, errors, all_told),
    )


def read(path: Path, pick: Mapping[str, Any]) -> Drawing:
    """Read a picture named in a set file, and those in its `also`, as one piece."""
    also = [path.parent / str(name) for name in _listed(pick, "also", path)]
    kept = path.parent / str(pick["kept"]) if "kept" in pick else None
    beside = path.with_name(f"{path.stem}-pricks.csv")
    if kept is not None and not kept.is_file():
        raise UserError(
            f"kept: there is no file '{kept.name}'",
            fix="Name the table written beside the photo.",
            place=Place(path),
        )
    wanted = PricksWanted(
        resolution=float(pick["resolution"]) if "resolution" in pick else None,
        measured=tuple(str(text) for text in _listed(pick, "measured", path)),
        earlier=kept or (beside if beside.is_file() else None),
        thickness=str(pick["thickness"]) if "thickness" in pick else None,
    )
    known = [_known(*one) for one in _measured(wanted)]
    paths = [path, *also]
    made = survey(paths, dpi=wanted.resolution, known=known, thickness=_thickness(wanted)[1])
    drop, corners = (
        in_set(_listed(pick, key, path), made.at, key, path) for key in ("drop", "corners")
    )
    said = _corrections(made, wanted, drop, corners)
    found, final = ordered(made, Corrections()), ordered(made, said)
    table = as_table(made, found, final, said, paths)
    if len(final.way.pieces) > 1 and "runs" not in pick:
        named = names_by_piece(final)
        raise UserError(
            f"the sheet holds {len(named)} pieces",
            fix="\n  ".join(["Take the runs of one:", *(f"runs = {listed(n)}" for n in named)]),
            place=Place(path),
        )
    drawing = _handed_on(table, path, {k: v for k, v in pick.items() if k not in OWN})
    told = told_of(made, final, remarks_of(made, final, said, error_map(made)))
    return Drawing(drawing.shapes, (*told, *drawing.notes))


def _handed_on(table: str, path: Path, pick: Mapping[str, Any]) -> Drawing:
    """Pass a table of pricks to the reader of such tables; its faults are the photo's."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / f"{path.stem}-pricks.csv"
        file.write_text(table, encoding="utf-8")
        try:
            return read_drawing(file, pick)
        except UserError as fault:
            raise UserError(
                f"the pricks in it: {fault.problem}",
                fix=f"{fault.fix}\n  To see them: plotout pricks {path.name}".lstrip(),
                place=Place(path, at=fault.place.at),
            ) from fault


def _listed(pick: Mapping[str, Any], key: str, path: Path) -> list[Any]:
    said = pick.get(key, [])
    said = [said] if isinstance(said, str | int | float) else said
    if not isinstance(said, list):
        raise UserError(f"'{key}' must be a list", fix="Write it in [brackets].", place=Place(path))
    return said


def _corrections(
    made: Survey, wanted: PricksWanted, drop: frozenset[int], corners: frozenset[int]
) -> Corrections:
    """Return what the earlier table says, and the pricks dropped and made corners now."""
    said = Corrections()
    if wanted.earlier is not None:
        said = corrections_in(wanted.earlier, made.at)
    return Corrections(
        said.drop | drop, said.corners | corners, said.moved, said.added,
        said.runs, said.smooth,
    )  # fmt: skip


def _measured(wanted: PricksWanted) -> tuple[tuple[str, float | None], ...]:
    """Return the measured distances: those given now, else those of the earlier table.

    With the latter goes what they were by the strips, mm.
    """
    if wanted.measured or wanted.earlier is None:
        return tuple((text, None) for text in wanted.measured)
    return measured_in(wanted.earlier)


def _thickness(wanted: PricksWanted) -> tuple[str, float]:
    """Return the strips' thickness as given now, else in the earlier table, and in mm."""
    text = wanted.thickness
    if text is None and wanted.earlier is not None:
        text = thickness_in(wanted.earlier)
    if not text:
        return "", 0.0
    high = length(text)
    if not 0.0 <= high <= THICKEST:
        raise UserError(
            f"strips can't be {high:g} mm thick",
            fix=f"Enter the thickness of their card, 0 to {THICKEST:g} mm.",
        )
    return text, high


def _known(text: str, nominal: float | None = None) -> Known:
    """Return a measured distance. Raises UserError for anything else."""
    match = MEASURED.match(text)
    if not match:
        raise UserError(
            f"'{text}' is not a measured distance",
            fix='Write it as "1 left - 4 right = 812.5 mm": two crosses and their distance.',
        )
    ends = []
    for number, side in ((match[1], match[2]), (match[3], match[4])):
        check_number(int(number))
        ends.append((int(number), CROSSES["left" if side.lower()[0] == "l" else "right"]))
    distance = length(match[5])
    if distance <= 0.0 or ends[0] == ends[1]:
        raise UserError(
            f"'{text}' is not a distance between two crosses",
            fix='Write "1 left - 4 right = 812.5 mm": strip, cross, strip, cross, distance.',
        )
    return Known((ends[0], ends[1]), distance, nominal=nominal)
