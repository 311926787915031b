"""The steady flow of each case by each model that the study asks for, and its meshes."""

#: What a change in would not change the laminar solution.
OF_TURBULENCE = [
    f"borestudy.flow.models.spalart_allmaras{module}"
    for module in ("", ".model", ".equations", ".flux", ".pointwise", ".distance")
]
FLOW_SOURCES = {
    model: source_hash("borestudy.stages.flow", without=without)
    for model, without in (("laminar", OF_TURBULENCE), ("turbulent", []))
}


def source_of_flow(wildcards):
    """Hash of the sources that decide a model's solution."""
    return FLOW_SOURCES[wildcards.model]


rule flow:
    input:
        bore=rules.mesh.output.bore,
        air=input_of_air,
    output:
        results=result("cases/{case}/flow-{model}.json"),
        fields=directory(result("cases/{case}/flow-{model}")),
        # The first two for every rate, the rest for rates that need it.
        meshes=mesh_files([f"{{model}}-{level}" for level in range(len(LAMINAR.names))]),
    log:
        log_file("flow-{model}", "{case}"),
    benchmark:
        benchmark_file("flow-{model}", "{case}")
    # The longest jobs first, so that none is left alone at the end.
    priority: 5
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=2500,
        runtime=60,
    params:
        rates_m3_per_s=[float(rate) for rate in STUDY.flow_rates()],
        inlet=STUDY.flow.inlet,
        pipe_behind_m=float(STUDY.pipe_behind()),
        resolution=STUDY.mesh.resolution,
        tolerance=STUDY.flow.tolerance.value,
        source=source_of_flow,
    script:
        "../scripts/flow.py"
