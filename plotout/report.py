"""What was made, as plain data."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from plotout.job import Made
from plotout.layout.paper.tiles import Tiled, joining_order
from plotout.machine import Machine
from plotout.output import off_cut
from plotout.sheet_job import SheetResult


def report(made: Made) -> dict[str, Any]:
    """Return what was made as plain data, fit for JSON. mm, mm2, s, per cent."""
    from plotout.geometry.polyline import length, signed_area

    pieces = []
    for name in dict.fromkeys(card.piece for card in made.cards):
        cards = [card for card in made.cards if card.piece == name]
        pieces.append(
            {
                "name": name,
                "cards": len(cards),
                "area_mm2": round(sum(signed_area(card.outline) for card in cards), 2),
                "perimeter_mm": round(sum(length(card.outline) for card in cards), 2),
                "hole_mm": [
                    [round(v, 2) for v in card.hole] if card.hole else None for card in cards
                ],
            }
        )
    used = sum(sheet.width * sheet.height for sheet in made.sheets)
    covered = sum(signed_area(card.outline) for card in made.cards)
    return {
        "set": made.pattern_set.name,
        "size": made.pattern_set.size,
        "machine": made.machine.name,
        "pieces": pieces,
        "sheets": [
            _sheet_report(result, made.laid.gap, made.machine)
            | {"left_over": off_cut(made, result)}
            for result in made.results
        ],
        "use_percent": round(100.0 * covered / used, 1) if used else 0.0,
        "faults": list(made.faults),
        "notes": list(made.warnings),
    }


def _sheet_report(result: SheetResult, gap: float, machine: Machine) -> dict[str, Any]:
    pages, told = {}, result.figures
    if result.tiled:
        least = {"least_by_area": _least_pages(result, gap, machine)}
        pages = {"pages": pages_report(result.tiled) | least}
    return pages | {
        "file": result.file,
        "files": list(result.files),
        "width_mm": round(result.sheet.width, 2),
        "height_mm": round(result.sheet.height, 2),
        "stock": result.sheet.stock,
        "cards": [placed.card.id for placed in result.sheet.placed],
        "strokes": told.strokes,
        "work_mm": round(told.worked, 1),
        "travel_mm": round(told.travel, 1),
        "travel_as_read_mm": round(told.travel_as_read, 1),
        "seconds": round(told.seconds, 1),
        "seconds_by_tool": {k: round(v, 1) for k, v in told.seconds_by_tool.items()},
        "faults": list(result.faults),
        "read_back": result.read_back,
    }


def pages_report(parts: Sequence[Tiled]) -> dict[str, Any]:
    """Return the pages of a printed sheet. groups: pages to join, row by row, in order.

    printed: without the map that comes first. places: of the whole grid, including omitted pages.
    """
    plans = [part.plan for part in parts]
    return {
        "paper_mm": [round(side, 2) for side in sorted(plans[0].page)],
        "printed": sum(len(plan.filled) for plan in plans),
        "places": sum(len(plan.tiles) for plan in plans),
        "groups": [
            [[part.prefix + tile.name for tile in row] for row in group]
            for part in parts
            for group in part.plan.groups
        ],
        "joining": joining_order(parts),
    }


def _least_pages(result: SheetResult, gap: float, machine: Machine) -> int:
    """Return how many pages the cards take by their area alone, with `gap` mm between them."""
    import shapely

    tile = result.tiled[0].plan.tiles[0]
    bodies = [shapely.Polygon(placed.outline).buffer(gap / 2.0) for placed in result.sheet.placed]
    area = sum(float(body.area) for body in bodies)
    trued = machine.calibration
    area *= 0.99 / (trued.scale_x * trued.scale_y)  # as sent; less what a lay may lack of the gap
    return max(1, math.ceil(area / ((tile.width + gap) * (tile.height + gap))))
