"""The claims of a text held against the results, where the study names a file of them."""

if STUDY.claims is not None:

    rule claims:
        # By path, as in the rule collate.
        input:
            claims=STUDY.claims_file().as_posix(),
            study=result("resolved.yaml"),
            batches=LAYOUT.all_batches(),
            airs=[LAYOUT.air_file(air) for air in LAYOUT.airs],
            air_column=LAYOUT.air_column_file(),
        output:
            table=result("claims.csv"),
            page=result("claims.html"),
        log:
            log_file("claims"),
        benchmark:
            benchmark_file("claims")
        conda:
            "../envs/borestudy.yaml"
        threads: 1
        resources:
            mem_mb=growing(1500),
            runtime=growing(30),
        params:
            source=source_hash("borestudy.stages.claims"),
        script:
            "../scripts/claims.py"
