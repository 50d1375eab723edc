"""What is done to a key: strokes, presses, forces, laid masses, and recorded traces.

A drive is a row of smooth pieces; `keyaction.NoteModel.play` plays it. Times in s, ways in m down at the key's front
from where it rests, forces in N.

>>> from keyaction import drives
>>> drive = drives.stroke(down=0.04, hold=0.15, up=0.04, depth=0.011)
>>> drive.marks[1]
('bottom', 0.04)
"""

from keyaction.sim.motion.changes import Change
from keyaction.sim.motion.drives import Drive, Piece, force, laid_mass, press, quintic, repeated, stroke
from keyaction.sim.motion.trace import drive_from

__docformat__ = "numpy"

__all__ = ["Change", "Drive", "Piece", "drive_from", "force", "laid_mass", "press", "quintic", "repeated", "stroke"]
