"""What the steady stream does to each case's resonance: where both physics meet."""


rule stream:
    input:
        whole=rules.two_port.output.stored,
        halves=rules.mesh.output.halves,
        bore=rules.mesh.output.bore,
        # The extremes have no part in it.
        solutions=[result("cases/{case}/flow-estimate.json")],
        air_column=LAYOUT.air_column_file(),
    output:
        results=result("cases/{case}/stream.json"),
    log:
        log_file("stream", "{case}"),
    benchmark:
        benchmark_file("stream", "{case}")
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=1500,
        runtime=15,
    params:
        termination=STUDY.termination(),
        solutions=["estimate"],
        source=source_hash("borestudy.stages.stream"),
    script:
        "../scripts/stream.py"
