"""OpenFst's `const` file form, written with numpy: header, states, arcs.

Layout (version 2, not aligned) as in OpenFst's `fst/fst.cc` and `fst/const-fst.h`; Kaldi's decoders read it
in one go. All numbers are little-endian.
"""

import struct

import numpy as np
from numpy.typing import NDArray

ARC = np.dtype([("input", "<i4"), ("output", "<i4"), ("weight", "<f4"), ("target", "<i4")])
"""An arc of the tropical semiring: labels (0 is "none"), cost, the state it leads to."""

_STATE = np.dtype(
    [("final", "<f4"), ("first", "<u4"), ("arcs", "<u4"), ("no_input", "<u4"), ("no_output", "<u4")]
)
_MAGIC = 2_125_659_606
_EXPANDED = 0x1  # the only property claimed: nothing is promised of order or determinism


def _name(text: str) -> bytes:
    return struct.pack("<i", len(text)) + text.encode()


def const_fst(
    start: int, final: NDArray[np.float32], counts: NDArray[np.int32], arcs: NDArray[np.void]
) -> bytes:
    """The file's bytes.

    `final` is each state's final cost (infinity: not final), `counts` its number of arcs; `arcs`, of
    dtype `ARC`, follow one another state by state.
    """
    states = np.zeros(len(final), _STATE)
    ends = np.cumsum(counts)
    states["final"] = final
    states["first"] = ends - counts
    states["arcs"] = counts
    for field, label in (("no_input", "input"), ("no_output", "output")):
        before = np.concatenate(([0], np.cumsum(arcs[label] == 0)))
        states[field] = before[ends] - before[ends - counts]
    header = struct.pack("<i", _MAGIC) + _name("const") + _name("standard")
    header += struct.pack("<iiQqqq", 2, 0, _EXPANDED, start, len(final), len(arcs))
    return header + states.tobytes() + arcs.tobytes()
