# From one study file to its tables, figures and report, in results/NAME/.
#
#   snakemake --cores 2                                       the demonstration study
#   snakemake --cores 2 --configfile configs/throat-sweep.yaml
#
# Everything about the graph of jobs is known from the study file.


include: "workflow/rules/common.smk"
include: "workflow/rules/mesh.smk"
include: "workflow/rules/acoustics.smk"
include: "workflow/rules/flow.smk"
include: "workflow/rules/stream.smk"
include: "workflow/rules/verification.smk"
include: "workflow/rules/comparison.smk"
include: "workflow/rules/report.smk"
include: "workflow/rules/validation.smk"
include: "workflow/rules/closure.smk"


rule all:
    default_target: True
    input:
        result("resolved.yaml"),
        result("report.html"),
        result("verdict.txt"),


onsuccess:
    # Other targets than the study's own leave its report as it was.
    if not set(workflow.dag_settings.targets) - {"all"}:
        say_last(f"Report: {result('report.html')}")


onerror:
    if os.path.exists(result("report.html")):
        say_last(
            f"Not everything succeeded. Report, perhaps of an earlier run: {result('report.html')}"
        )
