"""All cases side by side."""


def all_benchmarks():
    """Files of all jobs that are done before the tables are made."""
    single = [benchmark_file(rule) for rule in ("verify_acoustics", "verify_flow")]
    airs = [benchmark_file("air", air) for air in AIRS]
    rules_of_cases = ("mesh", "two_port", "resonance", "flow")
    return (
        single
        + airs
        + [benchmark_file(rule, case) for rule in rules_of_cases for case in CASES]
    )


rule collate:
    input:
        study=rules.resolve.output.resolved,
        bores=of_all_cases("bore.json"),
        acoustics=of_all_cases("acoustics.json"),
        impedance=of_all_cases("impedance.csv"),
        flow=of_all_cases("flow.json"),
        checks=[rules.verify_acoustics.output.checks, rules.verify_flow.output.checks],
    output:
        cases=result("cases.csv"),
        comparison=result("comparison.csv"),
        peaks=result("peaks.csv"),
        flow=result("flow.csv"),
        impedance=result("impedance.csv"),
        verification=result("verification.csv"),
        answers=result("answers.json"),
    log:
        log_file("collate"),
    benchmark:
        benchmark_file("collate")
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=1500,
        runtime=10,
    params:
        source=source_hash("borestudy.stages.collation"),
    script:
        "../scripts/collate.py"


rule benchmarks:
    input:
        measured=all_benchmarks(),
    output:
        table=result("benchmarks.csv"),
    log:
        log_file("benchmarks"),
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=500,
        runtime=5,
    params:
        folder=result("benchmarks"),
        source=source_hash("borestudy.stages.collation"),
    script:
        "../scripts/benchmarks.py"
