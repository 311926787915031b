"""Bore and meshes of each case, and the air's constants."""


rule resolve:
    output:
        resolved=result("resolved.yaml"),
        study_file=result("study-file.txt"),
    log:
        log_file("resolve"),
    benchmark:
        benchmark_file("resolve")
    # The first of all, since it says whose the folder is.
    priority: 20
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=500,
        runtime=5,
    params:
        study=STUDY.resolved(LAYOUT.folder),
        study_file=STUDY_FILE.as_posix(),
        source=source_hash("borestudy.study.study", without=["borestudy.air"]),
    script:
        "../scripts/resolve.py"


rule air:
    output:
        constants=result("air/{air}.json"),
    log:
        log_file("air", "{air}"),
    benchmark:
        benchmark_file("air", "{air}")
    # Everything waits for it.
    priority: 10
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=800,
        runtime=5,
    params:
        conditions=LAYOUT.conditions_of_air,
        source=source_hash("borestudy.stages.air"),
    script:
        "../scripts/air.py"


rule mesh:
    input:
        stations=LAYOUT.stations_of_case,
    output:
        bore=result("cases/{case}/bore.json"),
        dimensions=result("cases/{case}/dimensions.json"),
        # Of measured bores alone.
        measurement=[result(f"cases/{{case}}/{name}") for name in LAYOUT.of_measured()],
        acoustics=LAYOUT.mesh_files(ACOUSTICS.names),
        # The bore cut in its throat, for what the stream does to the resonance.
        halves=LAYOUT.mesh_files(HALVES),
    log:
        log_file("mesh", "{case}"),
    benchmark:
        benchmark_file("mesh", "{case}")
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=1000,
        runtime=10,
    params:
        bore=LAYOUT.bore_of_case,
        directory=LAYOUT.stations_folder,
        resolution=STUDY.mesh.resolution,
        # The air gives the study its limits of temperature, and a bore nothing.
        source=source_hash(
            "borestudy.stages.geometry",
            "borestudy.stages.measured",
            "borestudy.study.study",
            without=["borestudy.air"],
        ),
    script:
        "../scripts/mesh.py"
