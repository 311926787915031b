"""The same flow by an independent finite-element library, for comparison only."""

import time
from dataclasses import dataclass

import pytest

ngsolve = pytest.importorskip(
    "ngsolve", reason="the independent finite-element library ngsolve is not installed"
)
from netgen.meshing import Element1D, Element2D, FaceDescriptor, MeshPoint, Pnt  # noqa: E402
from netgen.meshing import Mesh as NetgenMesh  # noqa: E402

SIDES = ("rim_plane", "wall", "axis", "shank_end")


@dataclass
class PeerResult:
    """Scaled pressure drop at each Reynolds number; Newton steps and processor seconds in all.

    Slopes are the drop's derivatives along motions of the vertices, one row a Reynolds number.
    """

    drops: list
    steps: int
    seconds: float
    slopes: list


def peer_mesh(mesh):
    """A straight-sided skfem mesh, scaled, as an ngsolve mesh."""
    target = NetgenMesh(dim=2)
    count = int(mesh.t.max()) + 1
    points = [
        target.Add(MeshPoint(Pnt(float(x), float(r), 0.0))) for x, r in mesh.doflocs[:, :count].T
    ]
    target.Add(FaceDescriptor(surfnr=1, domin=1, bc=1))
    target.SetMaterial(1, "air")
    for triangle in mesh.t[:3].T:
        target.Add(Element2D(1, [points[vertex] for vertex in triangle]))
    for number, name in enumerate(SIDES, 1):
        for edge in mesh.facets[:, mesh.boundaries[name]].T:
            target.Add(Element1D([points[vertex] for vertex in edge], index=number))
        target.SetBCName(number - 1, name)
    return ngsolve.Mesh(target)


def integrals(fields, tests, viscosity):
    """The weak form of the steady flow: its integrals of the fields and of test functions."""
    (u, w, p), (v, z, q), r = fields, tests, ngsolve.y
    du, dw, dv, dz = (ngsolve.grad(field) for field in (u, w, v, z))
    volume = ngsolve.dx(bonus_intorder=2)
    strain = 2 * du[0] * dv[0] + 2 * dw[1] * dz[1] + (du[1] + dw[0]) * (dv[1] + dz[0])
    return (
        viscosity * (strain + 2 * w * z / r**2) * r * volume,
        ((u * du[0] + w * du[1]) * v + (u * dw[0] + w * dw[1]) * z) * r * volume,
        -(p * (dv[0] + dz[1] + z / r) + q * (du[0] + dw[1] + w / r)) * r * volume,
    )


def slopes_along(velocities, flow, form, viscosity, drop):
    """Derivative of the drop along motions of the vertices, shape (n, 2, n_vertices).

    By the adjoint and ngsolve's symbolic shape derivative of every integral; at the rim plane
    nothing may move, since the inflow is held.
    """
    space = flow.space
    rim_plane, r = ngsolve.ds("rim_plane"), ngsolve.y
    area = ngsolve.Integrate(r * rim_plane, space.mesh)
    goal = ngsolve.LinearForm(space)
    goal += space.TestFunction()[2] * r / area * rim_plane
    goal.Assemble()
    form.AssembleLinearization(flow.vec)
    adjoint = ngsolve.GridFunction(space)
    transposed = form.mat.CreateTranspose()
    adjoint.vec.data = transposed.Inverse(space.FreeDofs(), inverse="umfpack") * goal.vec
    moving = ngsolve.VectorH1(space.mesh, order=1)
    direction = moving.TestFunction()
    by_shape = ngsolve.LinearForm(moving)
    for integral in integrals(flow.components, adjoint.components, viscosity):
        by_shape += (-1 * integral).DiffShape(direction)
    pressure = flow.components[2]
    by_shape += ((pressure - drop) * r / area * rim_plane).DiffShape(direction)
    by_shape.Assemble()
    found = by_shape.vec.FV().NumPy()
    # order 1: the vertices' axial components, then their radial ones
    return [float(found @ velocity.ravel()) for velocity in velocities]


def solve_peer(mesh, reynolds, residual_norm, most_steps=15, velocities=()):
    """Newton's method for developed inflow, each Reynolds number from the one before.

    Taylor–Hood elements, the same weak form, no stabilisation; the throat's diameter and mean
    velocity are 1.  Steps are taken until the residual's norm is below `residual_norm`.
    """
    domain = peer_mesh(mesh)
    rim = float(mesh.doflocs[1, mesh.facets[:, mesh.boundaries["rim_plane"]]].max())
    axial = ngsolve.H1(domain, order=2, dirichlet="rim_plane|wall")
    radial = ngsolve.H1(domain, order=2, dirichlet="rim_plane|wall|axis|shank_end")
    space = axial * radial * ngsolve.H1(domain, order=1)
    r, viscosity = ngsolve.y, ngsolve.Parameter(1.0)
    form = ngsolve.BilinearForm(space)
    for integral in integrals(*space.TnT(), viscosity):
        form += integral
    flow = ngsolve.GridFunction(space)
    mean = 0.25 / rim**2
    inflow = 2 * mean * (1 - (r / rim) ** 2)
    flow.components[0].Set(inflow, definedon=domain.Boundaries("rim_plane"))
    residual, update = flow.vec.CreateVector(), flow.vec.CreateVector()
    free = ngsolve.Projector(space.FreeDofs(), True)
    drops, slopes, steps, begin = [], [], 0, time.process_time()
    for number in reynolds:
        viscosity.Set(1 / number)
        for _ in range(most_steps):
            form.Apply(flow.vec, residual)
            residual.data = free * residual
            if residual.Norm() < residual_norm:
                break
            form.AssembleLinearization(flow.vec)
            update.data = form.mat.Inverse(space.FreeDofs(), inverse="umfpack") * residual
            flow.vec.data -= update
            steps += 1
        else:
            raise RuntimeError(f"the peer did not converge at Reynolds number {number}")
        rim_plane = ngsolve.ds("rim_plane")
        area = ngsolve.Integrate(r * rim_plane, domain)
        drops.append(ngsolve.Integrate(flow.components[2] * r * rim_plane, domain) / area)
        if len(velocities):
            slopes.append(slopes_along(velocities, flow, form, viscosity, drops[-1]))
    return PeerResult(drops, steps, time.process_time() - begin, slopes)
