"""The process that runs gmsh: it makes the calls it is given, within its memory and time.

gmsh goes through the vertices of a boundary-layer mesh in the order of their addresses, in sets and
hash tables of pointers, so that the same mesh comes out only where the same addresses are given
out.  Hence this process is started afresh for each mesh and imports nothing of this package, has
its memory where it would be without randomisation, and gets new addresses in rising order.  Where
the system does not let go of randomisation (as some containers), the mesh is the same but for
rounding and the order of its nodes.
"""

import ctypes
import json
import os
import resource
import signal
import sys
from functools import reduce
from pathlib import Path
from typing import Any

#: Exit codes: gmsh cannot be loaded; it found no mesh; it had no memory left.
NOT_LOADED, NO_MESH, NO_MEMORY = 3, 4, 5
#: Share of the memory allowed from which on a failure without a reason is one for lack of memory.
NEARLY_ALL = 0.8
#: gmsh's number for a triangle with a node in the middle of each edge.
TRIANGLE_OF_SIX = 9
#: Far less than any edge [m].
NO_LENGTH = 1e-9
#: Linux: what `personality` asks with, and its flag for addresses that are not random.
ASK, ADDR_NO_RANDOMIZE = 0xFFFFFFFF, 0x0040000
#: Sizes of blocks [bytes] of which all that lie free are taken, greatest first, and how many new
#: ones in a row show that none is left; other systems than glibc's may never show it.
BLOCKS, IN_A_ROW, MOST_BLOCKS = range(4088, 16, -16), 8, 2000


def main() -> int:
    """Read a job from standard input, write its mesh, and say on standard output what failed."""
    job = json.load(sys.stdin)
    _limit(resource.RLIMIT_AS, job["memory_bytes"])
    _limit(resource.RLIMIT_CPU, job["seconds"])
    _limit(resource.RLIMIT_CORE, 0)
    # Python keeps other signals' defaults; this one's ends the process.
    signal.signal(signal.SIGXCPU, signal.SIG_DFL)
    try:
        import gmsh
    except (ImportError, OSError) as problem:
        print(type(problem).__name__, problem, sep=": ")
        return NOT_LOADED
    # A user's own options would give the user's own mesh.
    gmsh.initialize(interruptible=False, readConfigFiles=False)
    gmsh.option.setNumber("General.Terminal", 0)
    take_what_lies_free()
    try:
        make(gmsh, job["calls"])
        stretch_nodes(gmsh, job["stretch_from_m"], job["stretch"])
        gmsh.write(job["file"])
    except MemoryError:
        return NO_MEMORY
    except Exception as problem:
        # What is left to say needs a little memory too.
        _limit(resource.RLIMIT_AS, 2 * job["memory_bytes"])
        reason = str(problem).strip()
        if not reason and _most_memory() > NEARLY_ALL * job["memory_bytes"]:
            return NO_MEMORY
        print(reason or "it gives no reason")
        return NO_MESH
    return 0


def fix_addresses() -> None:
    """Start this program again without random addresses, where the system can and allows it."""
    if not sys.platform.startswith("linux"):
        return
    personality = ctypes.CDLL(None).personality
    personality.argtypes, personality.restype = [ctypes.c_ulong], ctypes.c_int
    now = personality(ASK)
    if now != -1 and not now & ADDR_NO_RANDOMIZE:
        personality(now | ADDR_NO_RANDOMIZE)
        if personality(ASK) & ADDR_NO_RANDOMIZE:
            os.execv(sys.executable, [sys.executable, *sys.orig_argv[1:]])


def take_what_lies_free() -> None:
    """Take the blocks that were given back, so that what gmsh asks for comes in rising order."""
    take = ctypes.CDLL(None).malloc
    take.argtypes, take.restype = [ctypes.c_size_t], ctypes.c_void_p
    for size in BLOCKS:
        last, rising = 0, 0
        for _ in range(MOST_BLOCKS):
            address = take(size) or 0
            rising = rising + 1 if 0 < address - last <= size + 16 else 0
            last = address
            if rising == IN_A_ROW:
                break


def make(gmsh: Any, calls: list[dict[str, Any]]) -> None:
    """Make calls in order, each with the results of former ones where they are asked for."""
    results: list[Any] = []

    def known(value: Any) -> Any:
        if isinstance(value, dict):
            return results[value["result of"]]
        return [known(entry) for entry in value] if isinstance(value, list) else value

    for call in calls:
        function = reduce(getattr, call["name"].split("."), gmsh)
        results.append(function(*known(call["arguments"]), **call["options"]))


def stretch_nodes(gmsh: Any, position: float, factor: float) -> None:
    """Stretch a mesh along the axis by a factor, from a place [m] on, to the bore's true length.

    An edge across that place is stretched at one end only, which leaves the node between its ends
    off the middle, and by more than a quarter of the edge the triangle is inverted there.  The node
    is moved to the middle again: the wall has a joint at the place, so that no such edge is curved.
    """
    if factor == 1:
        return
    tags, coordinates, _ = gmsh.model.mesh.getNodes()
    places = dict(zip(tags.tolist(), coordinates.reshape(-1, 3).tolist(), strict=True))
    # A wall's joint itself, but for rounding, is on neither side: the edges from it may be curved.
    before = {tag for tag, (x, _, _) in places.items() if x < position - NO_LENGTH}
    downstream = {tag for tag, (x, _, _) in places.items() if x > position + NO_LENGTH}
    for tag in downstream:
        places[tag][0] = position + factor * (places[tag][0] - position)
    moved = set(downstream)
    _, nodes = gmsh.model.mesh.getElementsByType(TRIANGLE_OF_SIX)
    for triangle in nodes.reshape(-1, 6).tolist():
        for start, stop in ((0, 1), (1, 2), (2, 0)):
            ends = triangle[start], triangle[stop]
            if not before.isdisjoint(ends) and not downstream.isdisjoint(ends):
                middle = triangle[3 + start]
                both = zip(*map(places.get, ends), strict=True)
                places[middle] = [sum(pair) / 2 for pair in both]
                moved.add(middle)
    for tag in sorted(moved):
        gmsh.model.mesh.setNode(tag, places[tag], [])


def _limit(kind: int, most: int) -> None:
    """Lower a limit of this process, whose own may be lower already."""
    _, hardest = resource.getrlimit(kind)
    allowed = most if hardest == resource.RLIM_INFINITY else min(most, hardest)
    resource.setrlimit(kind, (allowed, hardest))


def _most_memory() -> float:
    """Largest address space so far [bytes]; 0 where the system does not say."""
    status = Path("/proc/self/status")
    if not status.is_file():
        return 0.0
    lines = dict(line.split(":", 1) for line in status.read_text().splitlines() if ":" in line)
    return 1024 * float(lines["VmPeak"].split()[0])


if __name__ == "__main__":
    fix_addresses()
    code = main()
    sys.stdout.flush()
    # gmsh's own end takes long after a failure and has nothing left to do.
    os._exit(code)
