"""What is read by people: figures and the report."""

STAGES = {
    "mesh": "borestudy.stages.geometry",
    "resonance": "borestudy.stages.acoustics",
    "flow": "borestudy.stages.flow",
    "stream": "borestudy.stages.stream",
    "tables": "borestudy.stages.collation",
}


rule figures:
    # By path, as in the rule collate.
    input:
        study=result("resolved.yaml"),
        comparison=result("comparison.csv"),
        flow=result("flow.csv"),
        impedance=result("impedance.csv"),
        sensitivities=result("sensitivities.csv"),
        answers=result("answers.json"),
        benchmarks=result("benchmarks.csv"),
        mesh_costs=result("mesh_costs.csv"),
        batches=LAYOUT.all_batches(),
        wish=LAYOUT.of_wish(),
    output:
        figures=directory(result("figures")),
    log:
        log_file("figures"),
    benchmark:
        benchmark_file("figures")
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=growing(1500),
        runtime=growing(MINUTES_OF_TABLES),
    params:
        source=source_hash("borestudy.stages.presentation"),
    script:
        "../scripts/figures.py"


rule report:
    input:
        study=rules.resolve.output.resolved,
        comparison=rules.collate.output.comparison,
        flow=rules.collate.output.flow,
        stream=rules.collate.output.stream,
        energy=rules.collate.output.energy,
        separations=rules.collate.output.separations,
        verification=rules.collate.output.verification,
        sensitivities=rules.collate.output.sensitivities,
        tolerances=rules.collate.output.tolerances,
        budget=rules.collate.output.budget,
        answers=rules.collate.output.answers,
        figures=rules.figures.output.figures,
        benchmarks=rules.benchmarks.output.table,
        # Which the rule of the benchmarks does not wait for.
        measured=[benchmark_file("collate"), benchmark_file("figures")],
        air=FIRST_AIR,
        wish=LAYOUT.of_wish(),
    output:
        page=result("report.html"),
        latex=result("comparison.tex"),
        costs=result("costs.csv"),
    log:
        log_file("report"),
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=growing(1000),
        runtime=growing(MINUTES_OF_TABLES),
    params:
        source=source_hash("borestudy.stages.presentation"),
        source_hashes={stage: source_hash(module) for stage, module in STAGES.items()},
    script:
        "../scripts/report.py"
