# From one study file to its tables, figures and report, in results/NAME/.
#
#   snakemake --cores 2                                       the demonstration study
#   snakemake --cores 2 --configfile configs/throat-sweep.yaml
#
# Everything about the graph of jobs is known from the study file.


include: "workflow/rules/common.smk"
include: "workflow/rules/study.smk"
include: "workflow/rules/cases.smk"
include: "workflow/rules/verification.smk"
include: "workflow/rules/comparison.smk"
include: "workflow/rules/wish.smk"
include: "workflow/rules/claims.smk"
include: "workflow/rules/report.smk"
include: "workflow/rules/validation.smk"
include: "workflow/rules/reference.smk"


# On a cluster, what takes a second or two is not worth a place in the queue.
localrules:
    all,
    resolve,
    air,
    benchmarks,
    verdict,


rule all:
    default_target: True
    input:
        LAYOUT.documented(),


onsuccess:
    atexit.register(say_where_the_report_is)


onerror:
    if os.path.exists(result("report.html")):
        say_last(
            f"Not everything succeeded. Report, perhaps of an earlier run: {REPORT_AS_TOLD}"
        )


# Snakemake runs none of the above where nothing is to be done.
atexit.register(say_where_the_report_was)
