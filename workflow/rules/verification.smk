"""The study's mesh settings put to the test; its verdict is the last word."""


rule verify_acoustics:
    input:
        air=FIRST_AIR,
    output:
        checks=result("verification/acoustics.csv"),
        meshes=directory(result("verification/acoustics")),
    log:
        log_file("verify_acoustics"),
    benchmark:
        benchmark_file("verify_acoustics")
    priority: 6
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=1500,
        runtime=15,
    params:
        physics="acoustics",
        resolution=STUDY.mesh.resolution,
        source=source_hash(
            "borestudy.verification.acoustics", "borestudy.stages.verification"
        ),
    script:
        "../scripts/verify.py"


use rule verify_acoustics as verify_flow with:
    output:
        checks=result("verification/flow.csv"),
        meshes=directory(result("verification/flow")),
    log:
        log_file("verify_flow"),
    benchmark:
        benchmark_file("verify_flow")
    resources:
        mem_mb=1500,
        runtime=30,
    params:
        physics="flow",
        resolution=STUDY.mesh.resolution,
        source=source_hash(
            "borestudy.verification.flow", "borestudy.stages.verification"
        ),


rule verdict:
    input:
        checks=result("verification.csv"),
        report=result("report.html"),
    output:
        words=result("verdict.txt"),
    log:
        log_file("verdict"),
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=500,
        runtime=5,
    params:
        source=source_hash("borestudy.stages.verification"),
    script:
        "../scripts/verdict.py"
