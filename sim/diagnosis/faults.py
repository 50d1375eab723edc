"""The faults of an action that this model can have: what each changes, how it shows, what is done, how it is seen.

Symptoms, remedies and tests are common practice of the trade; no published table is known. What a fault does to the
figures is computed. `weight` says how often one is met beside the others, by custom: it decides only between causes
that the figures do not tell apart.
"""

from __future__ import annotations

from dataclasses import dataclass

SOURCE = "common practice"


@dataclass(frozen=True)
class Fault:
    """One way in which one note can be wrong.

    Attributes
    ----------
    name : str
        The fault.
    cause : str
        What it is counted as: faults that the figures hardly tell apart share one, and so do the two senses of one.
    kind : str
        The knob that makes it (`keyaction.sim.measuring.knobs.KINDS`).
    sign : int
        Sense of its amount.
    said : str
        In words; ``{part}`` is the part, where several can have it.
    symptom : str
        How it shows.
    remedy : str
        A kind of work (`keyaction.models.historic.works.WORKS`).
    look : str
        What shows it directly, whatever was measured.
    weight : float
        How often it is met beside others.
    source : str
        Of all these.
    mend : str
        What is done, where the remedy in general does not say it.
    """

    name: str
    cause: str
    kind: str
    sign: int
    said: str
    symptom: str
    remedy: str
    look: str
    weight: float
    source: str = SOURCE
    mend: str = ""


_FAULTS = (
    Fault("loose-nut", "nut", "nut", 1, "the run is loose: a nut slipped, or its rods are long",
          "play, pluck late, little lift; a hung key stands low", "turn-nut",
          "compare the nut's place on its thread with the neighbours'", 12.0),
    Fault("tight-nut", "nut", "nut", -1, "the run is tight: a nut turned up, or its rods are short",
          "no play, pluck early, much lift; in the end a cipher; a hung key stands high", "turn-nut",
          "compare the nut's place on its thread with the neighbours'; loosen it: a cipher stops", 8.0),
    Fault("dirty-pin", "rubs", "friction", 1, "a pin rubs: {part}",
          "heavy down, light up, sleepy; down less up is twice the friction", "clean-pin",
          "unhook the run joint by joint and move each part by hand", 12.0),
    Fault("swollen-guide", "rubs", "guide", 1, "guide or hinge of the pallet rubs: swollen, bent or dirty",
          "heavy down, light up, sleepy, several notes in damp air", "ease-guide",
          "unhook the pull-down and let the pallet fall shut: it must snap", 6.0),
    Fault("oblique", "oblique", "oblique", 1, "the pull-down rubs in its hole: bent or oblique",
          "heavy pluck, sleepy; the more the wire pulls the more it rubs", "straighten-wire",
          "take the wire out: it must return by its own weight, and shows a notch or a bend", 6.0),
    Fault("weak-spring", "spring", "spring", -1, "the pallet spring is weak", "light down, hold and up alike",
          "bend-spring", "weigh the spring at the eye, the pull-down unhooked", 8.0),
    Fault("strong-spring", "spring", "spring", 1, "the pallet spring is strong", "heavy down, hold and up alike",
          "bend-spring", "weigh the spring at the eye, the pull-down unhooked", 6.0),
    Fault("front-heavy", "lead", "balance", 1,
          "the key's front is heavier: a lead is missing at its tail or has slipped, or was added in front",
          "key sinks or answers light; down, hold and up alike light", "move-lead",
          "unhook the run and weigh the key alone; look for an empty hole", 1.2),
    Fault("front-light", "lead", "balance", -1,
          "the key's front is lighter: a lead was added at its tail, or is missing in front",
          "down, hold and up alike heavy", "move-lead", "unhook the run and weigh the key alone; look at its leads",
          1.2),
    Fault("rest-felt", "rest felt", "rest", 1, "the rest felt is lost, thin or eaten", "key stands high, play",
          "swap-felt", "look at the felt that the resting key lies on", 5.0),
    Fault("thick-rest", "rest felt", "rest", -1, "the rest felt is thick, or something lies on it",
          "key stands low, no play, in the end a cipher", "swap-felt", "look at the felt that the resting key lies on",
          3.0),
    Fault("bottom-felt", "bottom felt", "bottom", 1, "the bottom felt is lost, thin or eaten",
          "deep, hard bottom, much lift", "swap-felt", "look under the front; dip at a light and a heavy load", 5.0),
    Fault("thick-bottom", "bottom felt", "bottom", -1, "the bottom felt is thick, or something lies on it",
          "shallow, little lift", "dip-washer", "look under the key front; dip at a light and a heavy load", 3.0),
    Fault("soft-bottom", "bottom felt", "bottom-give", -1, "the bottom felt is soft", "deep, spongy bottom",
          "swap-felt", "dip at a light and a heavy load: a soft felt gives between them", 5.0),
    Fault("hard-bottom", "bottom felt", "bottom-give", 1, "the bottom felt is hard", "shallow, noisy bottom",
          "swap-felt", "dip at a light and a heavy load: a hard felt hardly gives between them", 1.0),
    Fault("twist", "run gives", "twist", -1, "the roller gives: twisted, or an arm is loose",
          "springy, pluck late, little lift", "fix-roller",
          "hold the pallet shut, press the key and watch both ends of the roller", 8.0),
    Fault("soft-run", "run gives", "soft-run", -1, "the run gives: soft ends, worn leather, a cracked rod",
          "springy, pluck late, little lift", "swap-felt",
          "hold the pallet shut, press the key and watch joint after joint", 4.0),
    Fault("leak", "leak", "leak", 1, "the pallet leaks: dirt, a warp or torn leather",
          "murmurs or ciphers, light pluck", "reseat-pallet",
          "unhook the pull-down: the murmur stays; lamp or smoke at the shut pallet", 6.0),
    Fault("wide-seal", "seal", "seal", 1, "the pallet seals too wide, or its leather sticks",
          "heavy pluck with the wind on only", "reseat-pallet",
          "chalk on the seat shows where the leather bears", 5.0),
    Fault("narrow-seal", "seal", "seal", -1, "the pallet seals on a narrower line than drawn",
          "light pluck with the wind on only", "reseat-pallet",
          "chalk on the seat shows where the leather bears", 1.5),
)  # fmt: skip
UNLEADED = {
    "front-heavy": ("the key itself is heavier in front than drawn", "unhook the run and weigh the key alone"),
    "front-light": ("the key itself is lighter in front than drawn", "unhook the run and weigh the key alone"),
}
"""What is said of keys without leads, and where to look."""
FAULTS = {one.name: one for one in _FAULTS}
"""Of single notes, by name."""

FEW = (
    Fault("low-wind", "wind", "pressure", -1, "the wind is low", "light pluck with the wind on", "pressure",
          "read the pressure in the box on a manometer", 4.0),
    Fault("high-wind", "wind", "pressure", 1, "the wind is high", "heavy pluck with the wind on", "pressure",
          "read the pressure in the box on a manometer", 4.0),
    Fault("more-stops", "stops", "stops", 1, "more stops are drawn than were meant", "heavier hold, weak speech",
          "draw-stops", "look at the stops", 3.0),
    Fault("fewer-stops", "stops", "stops", -1, "fewer stops are drawn than were meant", "lighter hold", "draw-stops",
          "look at the stops", 3.0),
)  # fmt: skip
"""What is common to all notes, yet has to be asked of a single one where too few were measured."""

COMMON = (
    Fault("low-wind", "wind", "pressure", -1, "the wind is low", "all plucks light", "pressure",
          "read the pressure in the box on a manometer", 10.0),
    Fault("high-wind", "wind", "pressure", 1, "the wind is high", "all plucks heavy", "pressure",
          "read the pressure in the box on a manometer", 8.0),
    Fault("more-stops", "stops", "stops", 1, "more stops are drawn than were meant", "all holds heavier, weak speech",
          "draw-stops", "look at the stops", 5.0),
    Fault("fewer-stops", "stops", "stops", -1, "fewer stops are drawn than were meant", "all holds lighter",
          "draw-stops", "look at the stops", 5.0),
    Fault("long-run", "run", "length", 1, "all rods are long, or the frame has shrunk",
          "play grows with the length of the run", "common-adjuster",
          "log air and play for a week before any nut is turned", 8.0),
    Fault("short-run", "run", "length", -1, "all rods are short, or the frame has swollen",
          "tightness grows with the length of the run", "common-adjuster",
          "log air and play for a week before any nut is turned", 8.0),
    Fault("rail-loose", "rail", "nut", 1, "a rail or beam of the run has moved and loosens all notes alike",
          "all keys with more play, or hung keys low", "common-adjuster",
          "measure the place of rails and beams against their marks", 8.0),
    Fault("rail-tight", "rail", "nut", -1, "a rail or beam of the run has moved and tightens all notes alike",
          "all keys without play, or hung keys high", "common-adjuster",
          "measure the place of rails and beams against their marks", 8.0),
    Fault("rest-high", "key rest", "rest", 1, "the rest of all keys lies high", "all keys high, dip and play more",
          "common-adjuster", "measure the rest rail against its marks", 5.0),
    Fault("rest-low", "key rest", "rest", -1, "the rest of all keys lies low", "all keys low, dip and play less",
          "common-adjuster", "measure the rest rail against its marks", 5.0),
    Fault("frame-low", "key frame", "frame", -1, "the key frame has sunk",
          "all keys low, play more by the lever ratio, dip as it was", "common-adjuster",
          "measure the key frame against its marks, and lay the straightedge on again", 5.0,
          mend="raise the key frame by that and turn no nut: level and play come right together"),
    Fault("frame-high", "key frame", "frame", 1, "the key frame stands high",
          "all keys high, play less by the lever ratio, dip as it was", "common-adjuster",
          "measure the key frame against its marks, and lay the straightedge on again", 5.0,
          mend="lower the key frame by that and turn no nut: level and play come right together"),
    Fault("datum", "straightedge", "", 1, "the straightedge lay below the level that is drawn", "levels alone high",
          "look", "lay it on again by the marks of the drawing", 5.0),
    Fault("datum-high", "straightedge", "", -1, "the straightedge lay above the level that is drawn",
          "levels alone low", "look", "lay it on again by the marks of the drawing", 5.0),
    Fault("bottom-deep", "key bottom", "bottom", 1, "the bottom of all keys lies deep", "all keys deep",
          "common-adjuster", "measure the thumper rail or the felt under the fronts", 4.0),
    Fault("bottom-shallow", "key bottom", "bottom", -1, "the bottom of all keys lies high", "all keys shallow",
          "common-adjuster", "measure the thumper rail or the felt under the fronts", 4.0),
    Fault("soft-bottoms", "key bottom", "bottom-give", -1, "the felt under all keys is soft", "deep, spongy bottom",
          "swap-felt", "dip at a light and a heavy load: a soft felt gives between them", 3.0),
    Fault("rubs-more", "all rub", "rubbing", 1, "everything rubs more: damp air, dust, dry pins",
          "all heavy down and light up", "clean-pin", "one note joint by joint; the air of the last weeks", 5.0),
    Fault("rubs-less", "all rub", "rubbing", -1, "everything rubs less than drawn", "down and up closer", "look",
          "nothing is wrong with that; calibrate the drawing", 3.0),
    Fault("springs-weak", "springs", "spring", -1, "all springs are weaker than drawn", "all weights light",
          "bend-spring", "weigh three springs at the eye", 4.0),
    Fault("springs-strong", "springs", "spring", 1, "all springs are stronger than drawn", "all weights heavy",
          "bend-spring", "weigh three springs at the eye", 4.0),
    Fault("fronts-heavy", "leads", "balance", 1, "all key fronts are heavier than drawn", "all weights light",
          "move-lead", "unhook three keys and weigh them alone", 1.5),
    Fault("fronts-light", "leads", "balance", -1, "all key fronts are lighter than drawn", "all weights heavy",
          "move-lead", "unhook three keys and weigh them alone", 1.5),
    Fault("seals-wide", "seats", "seal", 1, "all pallets seal on a wider line than drawn", "all plucks heavy",
          "releather-pallet", "chalk on three seats shows where the leather bears", 3.0),
    Fault("seals-narrow", "seats", "seal", -1, "all pallets seal on a narrower line than drawn", "all plucks light",
          "releather-pallet", "chalk on three seats shows where the leather bears", 3.0),
    Fault("soft-runs", "runs", "soft-run", -1, "all runs give more: soft ends, another material", "springy, pluck late",
          "swap-felt", "hold three pallets shut, press the keys: the way is what gives", 3.0),
    Fault("stiff-runs", "runs", "soft-run", 1, "all runs give less than drawn", "pluck early", "look",
          "nothing is wrong with that; calibrate the drawing", 2.0),
)  # fmt: skip
"""What all notes of a sheet can share: one cause in place of one for each note."""
