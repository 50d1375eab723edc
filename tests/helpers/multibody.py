"""Pieces of a scene for a general-purpose multibody engine: hinged bodies, their arms' ends, cords between them."""

from collections.abc import Callable, Sequence

import numpy as np

G = 9.80665
# As near to Coulomb as the engine comes: its friction constraint settles within ten steps.
STIFF = 'solreffriction="0.0002 1" solimpfriction="0.999 0.999 0.001 0.5 2"'


def body(name, place, sense, inertia, weight=0.0, moment=0.0, children="", friction=0.0, spring=""):
    """A body hinged about y at `place`; `moment` of its weight sets its centre off the axis, forward positive.

    `sense` is +1 where playing lowers the +x side. A body without weight gets 1 g on its axis.
    """
    mass = weight / G if moment else 1e-3
    off = moment / weight if moment else 0.0
    about = inertia - mass * off**2
    return f"""
    <body name="{name}" pos="{place[0]} {place[1]} {place[2]}">
      <joint name="{name}" axis="0 {sense} 0" frictionloss="{friction}" {STIFF} {spring}/>
      <inertial pos="{sense * off} 0 0" mass="{mass}" diaginertia="{about} {about} {about}"/>
      {children}
    </body>"""


def end(name, place, mass, carried=False):
    """The end of an arm with half a rod's mass on it; `carried` where guides take the weight."""
    lift = 'gravcomp="1"' if carried else ""
    return f"""<body name="{name}" pos="{place[0]} 0 {place[1]}" {lift}>
        <inertial pos="0 0 0" mass="{mass}" diaginertia="1e-12 1e-12 1e-12"/><site name="{name}"/></body>"""


def cord(name, near, far, free, stiffness):
    return f"""<spatial name="{name}" springlength="0 {free}" stiffness="{stiffness}">
        <site site="{near}"/><site site="{far}"/></spatial>"""


def world(bodies: Sequence[str], tendons: Sequence[str], step: float) -> str:
    """The scene as the engine reads it."""
    return f"""<mujoco><compiler angle="radian" inertiafromgeom="false" boundmass="0" boundinertia="0"/>
      <option gravity="0 0 {-G}" timestep="{step}" integrator="RK4" tolerance="1e-12"/>
      <worldbody>{"".join(bodies)}</worldbody><tendon>{"".join(tendons)}</tendon></mujoco>"""


def pressed(t, drive):
    """The force on the key at an instant, from the drive's own polynomials."""
    piece = next(piece for piece in drive.pieces if t <= piece.end)
    return sum(c * (t - piece.start) ** i for i, c in enumerate(piece.force))


def played(scene: str, outer: Callable, start: np.ndarray, joints: Sequence[str], end: float, step: float):
    """Angles of the hinges at every step from the angles `start`, with outer torques; and their accelerations there."""
    import mujoco

    model = mujoco.MjModel.from_xml_string(scene)
    data = mujoco.MjData(model)
    assert [model.joint(i).name for i in range(model.njnt)] == list(joints)
    data.qpos[:] = start
    mujoco.set_mjcb_passive(outer)
    try:
        mujoco.mj_forward(model, data)
        at_rest = data.qacc.copy()
        times, angles = [0.0], [data.qpos.copy()]
        while data.time < end - step / 2:
            mujoco.mj_step(model, data)
            times.append(data.time)
            angles.append(data.qpos.copy())
    finally:
        mujoco.set_mjcb_passive(None)
    return np.array(times), np.array(angles), at_rest
