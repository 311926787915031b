"""All cases side by side."""


rule tolerances:
    input:
        batch=LAYOUT.first_batch(),
        air=FIRST_AIR,
        stations=[str(path) for path in FIRST_CASE.input_files()],
        air_column=LAYOUT.air_column_file(),
    output:
        solved=result("tolerances.json"),
    log:
        log_file("tolerances"),
    benchmark:
        benchmark_file("tolerances")
    priority: 6
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=growing(memory_MB(LAYOUT, [FIRST_CASE])),
        runtime=growing(30),
    params:
        folder=result(f"cases/{FIRST_CASE.name}"),
        bore=FIRST_CASE.description()["bore"],
        directory=FIRST_CASE.directory.as_posix(),
        tolerance_m=STUDY.tolerance.value,
        tolerances_SI=STUDY.stated_tolerances(),
        termination=STUDY.termination(),
        rates_m3_per_s=RATES_M3_PER_S,
        inlet=STUDY.flow.inlet,
        transition=STUDY.flow.transition.settings(),
        pipe_behind_m=STUDY.pipe_behind(),
        source=source_hash("borestudy.stages.tolerances"),
    script:
        "../scripts/tolerances.py"


rule collate:
    # By path and not as `rules.….output`, since the study may have thousands of batches.
    input:
        study=result("resolved.yaml"),
        batches=LAYOUT.all_batches(),
        tolerances=result("tolerances.json"),
        air=FIRST_AIR,
        wish=LAYOUT.of_wish(),
        airs=[LAYOUT.air_file(air) for air in LAYOUT.airs],
        checks=LAYOUT.of_verifications("csv"),
    output:
        **LAYOUT.parquet_tables(),
        **LAYOUT.tables_of_lips(),
        cases=result("cases.csv"),
        comparison=result("comparison.csv"),
        peaks=result("peaks.csv"),
        flow=result("flow.csv"),
        impedance=result("impedance.csv"),
        stream=result("stream.csv"),
        energy=result("energy.csv"),
        separations=result("separations.csv"),
        sensitivities=result("sensitivities.csv"),
        verification=result("verification.csv"),
        tolerances=result("tolerances.csv"),
        budget=result("budget.csv"),
        hand_formulas=result("hand_formulas.csv"),
        answers=result("answers.json"),
    log:
        log_file("collate"),
    benchmark:
        benchmark_file("collate")
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=growing(1500),
        runtime=growing(MINUTES_OF_TABLES),
    params:
        source=source_hash("borestudy.stages.collation"),
    script:
        "../scripts/collate.py"


rule benchmarks:
    input:
        measured=LAYOUT.benchmarks(),
        batches=LAYOUT.all_batches(),
    output:
        table=result("benchmarks.csv"),
        meshes=result("mesh_costs.csv"),
    log:
        log_file("benchmarks"),
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=growing(500),
        runtime=growing(5),
    params:
        models=[*LAYOUT.models],
        source=source_hash("borestudy.stages.benchmarks"),
    script:
        "../scripts/benchmarks.py"
