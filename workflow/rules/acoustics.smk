"""The two-port of each case, and its resonances with a termination of the shank end.

Another termination does not solve a two-port again.
"""


rule two_port:
    input:
        meshes=rules.mesh.output.acoustics,
        bore=rules.mesh.output.bore,
        dimensions=rules.mesh.output.dimensions,
        air=LAYOUT.air_of_case,
    output:
        stored=result("cases/{case}/two_port.npz"),
    log:
        log_file("two_port", "{case}"),
    benchmark:
        benchmark_file("two_port", "{case}")
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=1500,
        runtime=15,
    params:
        range_Hz=STUDY.frequency_range(),
        walls=STUDY.resonance.walls,
        # The stage's module asks more of a two-port in the next rule, which solves nothing anew.
        source=source_hash(
            "borestudy.stages.acoustics",
            without=[
                "borestudy.acoustics.solve",
                "borestudy.acoustics.termination",
            ],
        ),
    script:
        "../scripts/two_port.py"


rule resonance:
    input:
        stored=rules.two_port.output.stored,
        mesh=rules.mesh.output.acoustics[-1],
        air_column=LAYOUT.air_column_file(),
    output:
        results=result("cases/{case}/acoustics.json"),
        impedance=result("cases/{case}/impedance.csv"),
        fields=directory(result("cases/{case}/acoustics")),
    log:
        log_file("resonance", "{case}"),
    benchmark:
        benchmark_file("resonance", "{case}")
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=1500,
        runtime=15,
    params:
        termination=STUDY.termination(),
        range_Hz=STUDY.frequency_range(),
        points=STUDY.resonance.points,
        fundamental=STUDY.fundamental(),
        source=source_hash("borestudy.stages.acoustics"),
    script:
        "../scripts/resonance.py"
