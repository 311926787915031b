"""A Slurm of one node on the loopback interface, without systemd; for root.

Its three daemons keep everything in one folder, and are ended by their own process numbers.
"""

import os
import secrets
import shutil
import signal
import socket
import subprocess
import time
from contextlib import suppress
from pathlib import Path

TEMPLATE = Path(__file__).with_name("slurm.conf.in")
#: Where a job's own calls of Slurm look: they are not told of another place.
DEFAULT_PLACE = Path("/etc/slurm")
#: Daemons in the order in which they are started, each with what it comes in.
DAEMONS = {"munged": "munge", "slurmctld": "slurmctld", "slurmd": "slurmd"}
CLIENTS = ("sbatch", "squeue", "scontrol", "srun", "sinfo", "scancel")
#: Debian's 22.05 reads a file about control groups even where no plugin uses them.
CGROUP = "CgroupPlugin=cgroup/v1\nCgroupAutomount=no\nConstrainCores=no\nConstrainRAMSpace=no\n"
#: How long a daemon may take to start, or to end [s].
PATIENCE = 60.0


def why_not():
    """Why no Slurm can be started here, in a line; None where one can."""
    missing = [name for name in (*DAEMONS, *CLIENTS) if shutil.which(name) is None]
    if missing:
        return f"{', '.join(missing)}: not installed; `sh install.sh test` does it"
    if os.geteuid() != 0:
        return "Slurm's daemons start jobs as any user, and so only as root"
    for name in ("slurm.conf", "cgroup.conf"):
        if (DEFAULT_PLACE / name).is_file() and not (DEFAULT_PLACE / name).is_symlink():
            return f"{DEFAULT_PLACE / name} belongs to a cluster that this machine is part of"
    return None


class OneNode:
    """A Slurm that runs between `start` and `stop`, and what tests do to it."""

    def __init__(self, folder, processors=2):
        self.folder = Path(folder)
        self.host = socket.gethostname().partition(".")[0]
        self.processors = processors

    @property
    def environment(self):
        """Variables of a process that submits jobs."""
        return os.environ | {"SLURM_CONF": str(self.folder / "slurm.conf")}

    def start(self):
        """Write the configuration, start the daemons, and wait for the node."""
        for name in ("state", "spool"):
            (self.folder / name).mkdir(parents=True)
        self.folder.chmod(0o755)
        self._configure()
        munge = {
            name: self.folder / f"munge.{name}" for name in ("key", "sock", "pid", "log", "seed")
        }
        munge["key"].write_bytes(secrets.token_bytes(128))
        munge["key"].chmod(0o400)
        self._run(
            "munged", "--force", f"--key-file={munge['key']}", f"--socket={munge['sock']}",
            f"--pid-file={self.folder / 'munged.pid'}", f"--log-file={munge['log']}",
            f"--seed-file={munge['seed']}", "--num-threads=2",
        )  # fmt: skip
        configuration = str(self.folder / "slurm.conf")
        self._run("slurmctld", "-f", configuration)
        self._run("slurmd", "-f", configuration, "-N", self.host)
        self.wait_for("a free node", lambda: self.node_state() == "idle")

    def stop(self):
        """End the jobs and the daemons, and leave no file outside the folder."""
        with suppress(OSError, subprocess.SubprocessError):
            self.ask("scancel", "--user=root", "--full", "--signal=KILL")
            self.ask("scancel", "--user=root")
            self.wait_for("the jobs' end", lambda: not self.jobs("running"))
        ended = [self._end(name) for name in reversed(DAEMONS)]
        for name in ("slurm.conf", "cgroup.conf"):
            link = DEFAULT_PLACE / name
            if link.is_symlink() and link.readlink() == self.folder / name:
                link.unlink()
        assert all(ended), "a daemon of Slurm did not end"

    def ask(self, *command):
        """What a command of Slurm says."""
        return subprocess.run(
            command, env=self.environment, text=True, check=True, capture_output=True, timeout=60
        ).stdout

    def node_state(self):
        """State of the node in Slurm's words, without the marks after it."""
        return self.ask("sinfo", "--noheader", "--Format=StateLong").strip().rstrip("*~#!%$@^-")

    def jobs(self, *states):
        """Numbers of jobs in some states, each with its comment, which names rule and wildcards."""
        said = self.ask("squeue", "--noheader", f"--states={','.join(states)}", "--format=%i|%k")
        return dict(line.split("|", 1) for line in said.splitlines())

    def asked(self, *fields):
        """What each job asked for, in words of ``squeue --Format``."""
        wide = ",".join(f"{field}:100" for field in fields)
        said = self.ask("squeue", "--noheader", "--states=all", f"--Format={wide}")
        return [
            [line[100 * place :][:100].strip() for place in range(len(fields))]
            for line in said.splitlines()
        ]

    def processes(self, job):
        """Numbers of all processes of a job."""
        return [
            int(place.name)
            for place in Path("/proc").iterdir()
            if place.name.isdigit() and f"SLURM_JOB_ID={job}".encode() in _environment(place)
        ]

    def set_node(self, state, reason="tests"):
        """Drain the node or resume it."""
        self.ask(
            "scontrol", "update", f"nodename={self.host}", f"state={state}", f"reason={reason}"
        )

    def wait_for(self, what, condition, seconds=PATIENCE):
        """Wait until a condition holds."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            with suppress(subprocess.CalledProcessError):
                if condition():
                    return
            time.sleep(0.2)
        logs = [path.read_text()[-1500:] for path in sorted(self.folder.glob("slurm*.log"))]
        raise TimeoutError(f"waited {seconds} s in vain for {what}\n" + "\n".join(logs))

    def _configure(self):
        ports = _free_ports(2)
        text = TEMPLATE.read_text()
        for mark, value in {
            "FOLDER": self.folder, "HOST": self.host, "PROCESSORS": self.processors,
            "MEMORY_MB": _memory_MB(), "CONTROLLER_PORT": ports[0], "NODE_PORT": ports[1],
        }.items():  # fmt: skip
            text = text.replace(f"@{mark}@", str(value))
        (self.folder / "slurm.conf").write_text(text)
        (self.folder / "cgroup.conf").write_text(CGROUP)
        DEFAULT_PLACE.mkdir(exist_ok=True)
        for name in ("slurm.conf", "cgroup.conf"):
            link = DEFAULT_PLACE / name
            # A link that points nowhere is of a run that was killed.
            if link.is_symlink():
                link.unlink()
            link.symlink_to(self.folder / name)

    def _run(self, *command):
        """Start a daemon, which goes to the background by itself."""
        ran = subprocess.run(
            command, env=self.environment, text=True, timeout=PATIENCE,
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        assert ran.returncode == 0, f"{command[0]} did not start; see {self.folder}"

    def _end(self, name):
        """End a daemon by its number, if that is still its own; whether it ended."""
        try:
            number = int((self.folder / f"{name}.pid").read_text())
        except (OSError, ValueError):
            return True
        for sign in (signal.SIGTERM, signal.SIGKILL):
            end = time.monotonic() + 10
            if _name_of(number) == name:
                os.kill(number, sign)
            while _name_of(number) == name and time.monotonic() < end:
                time.sleep(0.1)
        return _name_of(number) != name


def _environment(place):
    try:
        return (place / "environ").read_bytes().split(b"\0")
    except OSError:
        return []


def _name_of(number):
    """Name of a running process; empty where there is none or it only waits to be collected."""
    try:
        said = Path(f"/proc/{number}/stat").read_text()
    except OSError:
        return ""
    name, _, rest = said.partition("(")[2].rpartition(")")
    return "" if rest.split()[0] == "Z" else name


def _free_ports(count):
    """Ports of the loopback interface that nobody listens on."""
    sockets = [socket.socket() for _ in range(count)]
    for one in sockets:
        one.bind(("127.0.0.1", 0))
    ports = [one.getsockname()[1] for one in sockets]
    for one in sockets:
        one.close()
    return ports


def _memory_MB():
    """Nine tenths of the machine's memory."""
    return os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") * 9 // 10 // 2**20
