"""The cases, a batch of them a job: mesh, two-port, resonances, flow, stream of each.

What a case has is not among the outputs but on the case's own record (``case.json``), so that one
step of one case can be done again, and so that thousands of cases are a graph of a few hundred jobs.
"""


rule solve:
    input:
        airs=airs_of_batch,
        stations=LAYOUT.stations_of_batch,
        air_column=LAYOUT.air_column_file(),
    output:
        record=result("batches/{batch}.json"),
    log:
        log_file("solve", "{batch}"),
    benchmark:
        benchmark_file("solve", "{batch}")
    # The longest jobs first, so that none is left alone at the end.
    priority: 5
    retries: ATTEMPTS - 1
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=memory_of_batch,
        runtime=minutes_of_batch,
        attempt=lambda wildcards, attempt: attempt,
    params:
        # Of which only what `asked` stands for makes a case stale: Snakemake does not compare what
        # is made from the inputs.
        study=lambda wildcards, input: RESOLVED,
        # Not from the output, which is in a folder of its own.
        folder=lambda wildcards: LAYOUT.folder,
        cases=LAYOUT.names_of_batch,
        asked=LAYOUT.asked_of_batch,
        sources=SOURCES,
    script:
        "../scripts/solve.py"
