"""The study's mesh settings put to the test; its verdict is the last word.

What is asked has nothing of the study's bores in it: it is solved once and kept for all studies.
It is no output of the rules, since two studies that run at once could then not both be about to make it.
"""

from borestudy.stages.verified import source_of_verification


rule verify_acoustics:
    output:
        checks=result("verification/acoustics.csv"),
        record=result("verification/acoustics.json"),
    log:
        log_file("verify_acoustics"),
    benchmark:
        benchmark_file("verify_acoustics")
    priority: 6
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=growing(1500),
        runtime=growing(15),
    params:
        physics="acoustics",
        resolution=STUDY.mesh.resolution,
        air=LAYOUT.first_conditions(),
        store=LAYOUT.verifications,
        source=source_of_verification("acoustics"),
    script:
        "../scripts/verify.py"


use rule verify_acoustics as verify_flow with:
    output:
        checks=result("verification/flow.csv"),
        record=result("verification/flow.json"),
    log:
        log_file("verify_flow"),
    benchmark:
        benchmark_file("verify_flow")
    resources:
        mem_mb=growing(1500),
        runtime=growing(30),
    params:
        physics="flow",
        resolution=STUDY.mesh.resolution,
        air=LAYOUT.first_conditions(),
        store=LAYOUT.verifications,
        source=source_of_verification("flow"),


# Of studies with lips alone: no other has its outputs among what it asks for.
use rule verify_acoustics as verify_playing with:
    output:
        checks=result("verification/playing.csv"),
        record=result("verification/playing.json"),
    log:
        log_file("verify_playing"),
    benchmark:
        benchmark_file("verify_playing")
    params:
        physics="playing",
        resolution=STUDY.mesh.resolution,
        air=LAYOUT.first_conditions(),
        store=LAYOUT.verifications,
        source=source_of_verification("playing"),


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
        mem_mb=growing(500),
        runtime=growing(5),
    params:
        source=source_hash("borestudy.stages.verification"),
    script:
        "../scripts/verdict.py"
