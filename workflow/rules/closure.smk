"""The turbulent flow of each case, unless the study asks for the laminar alone."""


rule closure:
    input:
        bore=rules.mesh.output.bore,
        air=input_of_air,
    output:
        results=result("cases/{case}/closure.json"),
        fields=directory(result("cases/{case}/closure")),
        meshes=mesh_files(TURBULENT.names),
    log:
        log_file("closure", "{case}"),
    benchmark:
        benchmark_file("closure", "{case}")
    priority: 4
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=1500,
        runtime=60,
    params:
        rates_m3_per_s=[float(rate) for rate in STUDY.flow_rates()],
        inlet=STUDY.flow.inlet,
        pipe_behind_m=float(STUDY.pipe_behind()),
        resolution=STUDY.mesh.resolution,
        source=source_hash("borestudy.stages.closure"),
    script:
        "../scripts/closure.py"
