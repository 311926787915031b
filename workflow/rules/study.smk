"""The study as it is computed, and its airs."""


rule resolve:
    output:
        resolved=result("resolved.yaml"),
        study_file=result("study-file.txt"),
    log:
        log_file("resolve"),
    benchmark:
        benchmark_file("resolve")
    # The first of all, since it says whose the folder is.
    priority: 20
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=500,
        runtime=5,
    params:
        study=RESOLVED,
        study_file=STUDY_FILE.as_posix(),
        source=source_hash("borestudy.study.study", without=["borestudy.air"]),
    script:
        "../scripts/resolve.py"


rule air:
    output:
        constants=result("air/{air}.json"),
    log:
        log_file("air", "{air}"),
    benchmark:
        benchmark_file("air", "{air}")
    # Everything waits for it.
    priority: 10
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=800,
        runtime=5,
    params:
        conditions=LAYOUT.conditions_of_air,
        source=source_hash("borestudy.stages.air"),
    script:
        "../scripts/air.py"
