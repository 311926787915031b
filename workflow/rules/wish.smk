"""The bores that come nearest to the study's wish, where it has one."""

if STUDY.asked() is not None:

    rule wish:
        input:
            air=FIRST_AIR,
            air_column=LAYOUT.air_column_file(),
        output:
            record=result("wish/wish.json"),
            table=result("wishes.csv"),
        log:
            log_file("wish"),
        benchmark:
            benchmark_file("wish")
        # One of the longest jobs, since each of its solves waits for the last.
        priority: 6
        conda:
            "../envs/borestudy.yaml"
        threads: 1
        resources:
            mem_mb=growing(max(2500, memory_MB(LAYOUT, [FIRST_CASE]))),
            runtime=growing(120),
        params:
            study=LAYOUT.wish_settings(),
            directory=STUDY.directory.as_posix(),
            source=source_hash("borestudy.stages.wish"),
        script:
            "../scripts/wish.py"
