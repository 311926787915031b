"""The steady flow of each case by each model that the study asks for, and its meshes."""


rule flow:
    input:
        bore=rules.mesh.output.bore,
        dimensions=rules.mesh.output.dimensions,
        air=LAYOUT.air_of_case,
    output:
        results=result("cases/{case}/flow-{model}.json"),
        fields=directory(result("cases/{case}/flow-{model}")),
        meshes=LAYOUT.flow_meshes(),
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
        rates_m3_per_s=RATES_M3_PER_S,
        inlet=STUDY.flow.inlet,
        pipe_behind_m=STUDY.pipe_behind(),
        resolution=STUDY.mesh.resolution,
        transition=LAYOUT.transition_of_model,
        tolerance=STUDY.flow.tolerance.value,
        source=source_of_flow,
    script:
        "../scripts/flow.py"
