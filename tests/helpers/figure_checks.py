"""Helpers of the picture tests: results with something missing, and what a finished figure shows."""

from dataclasses import replace

import numpy as np
from matplotlib.text import Text

MUTE = "does not speak: pressed 10 mm down, the key leaves the pallet 0.3 mm short"
REASON = "the step became too small at 0.113 s; loosen the tolerances"


def changed(result, **arrays):
    """The result with other arrays under these names."""
    variables = dict(result.variables)
    for name, data in arrays.items():
        variables[name] = replace(variables[name], data=data)
    return replace(result, variables=variables)


def pick(result, rows):
    """Some of the notes only."""
    return changed(
        result, **{name: v.data[rows] for name, v in result.variables.items() if v.dims and v.dims[0] == "note"}
    )


def failed(result, rows):
    """The result as `assemble` leaves it where these notes failed."""
    arrays = {}
    for name, variable in result.variables.items():
        if variable.dims[:1] == ("note",) and variable.data.dtype.kind == "f":
            arrays[name] = variable.data.copy()
            arrays[name][rows] = np.nan
    arrays["status"] = result["status"].copy()
    arrays["status"][rows] = f"failed: {REASON}"
    return changed(result, **arrays)


def never_plucking(result, row):
    """The result as it would be if the pallet of that note stayed on its seat."""
    gone = (
        "pluck_point",
        "pluck_force",
        "follow_through_force",
        "pluck_ratio",
        "opening_time",
        "speech_delay",
        "release_delay",
        "repetition_rate",
        "compliance_budget",
    )
    arrays = {name: result[name].copy() for name in (*gone, "groove_pressure", "motion", "seat_gap")}
    for name in gone:
        arrays[name][row] = np.nan
    arrays["groove_pressure"][row] = 0.0
    arrays["motion"][row, list(result["body"]).index("pallet")] *= 0.005
    arrays["seat_gap"][row] = -3e-4
    arrays["verdict"] = result["verdict"].copy()
    arrays["verdict"][row] = MUTE
    return changed(result, **arrays)


def _ticks(axis):
    low, high = sorted(axis.get_view_interval())
    along = 0 if axis.axis_name == "x" else 1
    for label in axis.get_ticklabels(which="both"):
        if low <= label.get_position()[along] <= high:
            yield label


def texts(figure):
    """Every text that the figure shows."""
    if figure.stale:
        figure.draw_without_rendering()
        figure.stale = False
    found = list(figure.texts)
    for axes in figure.axes:
        ticks = {id(label) for axis in (axes.xaxis, axes.yaxis) for label in axis.get_ticklabels(which="both")}
        offsets = {id(axis.get_offset_text()) for axis in (axes.xaxis, axes.yaxis)}
        found += [t for t in axes.findobj(Text) if id(t) not in ticks | offsets]
        if axes.axison:
            found += [t for axis in (axes.xaxis, axes.yaxis) for t in _ticks(axis)]
        else:
            found = [t for t in found if t not in (axes.xaxis.label, axes.yaxis.label)]
    return [text for text in found if text.get_visible() and text.get_text().strip()]


def words(figure):
    """All that can be read in the figure, each text with its line breaks as spaces."""
    return [" ".join(text.get_text().split()) for text in texts(figure)]


def overlaps(figure):
    """Pairs of texts that lie on each other, by more than a dot."""
    boxes = [(text.get_text(), text.get_window_extent()) for text in texts(figure)]
    return [
        (one, two)
        for i, (one, a) in enumerate(boxes)
        for two, b in boxes[i + 1 :]
        if min(a.x1, b.x1) - max(a.x0, b.x0) > 1 and min(a.y1, b.y1) - max(a.y0, b.y0) > 1
    ]


def outside(figure):
    """Texts that the edge of the figure cuts."""
    whole = figure.bbox
    boxes = [(text.get_text(), text.get_window_extent()) for text in texts(figure)]
    return [
        name for name, box in boxes if box.x0 < whole.x0 or box.x1 > whole.x1 or box.y0 < whole.y0 or box.y1 > whole.y1
    ]


def line(axes, label):
    """Data of the line with that name."""
    found = [one for one in axes.get_lines() if one.get_label() == label]
    assert len(found) == 1, f"{label}: {[one.get_label() for one in axes.get_lines()]}"
    return found[0].get_xydata()


def legend(axes):
    """Names in the panel's legend."""
    return [text.get_text() for text in axes.get_legend().get_texts()]
