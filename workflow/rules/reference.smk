"""Whether this machine computes what others do: ``snakemake reference``, whatever the study."""


rule reference:
    # Without any output, so that it is computed whenever it is asked for.
    log:
        "results/verification/reference.log",
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=1500,
        runtime=15,
    script:
        "../scripts/reference.py"
