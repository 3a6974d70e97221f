#!/usr/bin/env python3
"""The laminate engine's speed beside general-purpose Python libraries, measured in one run.

Installs the libraries into a virtual environment of its own under the target directory, checks
each of them on laminate L37 of tests/reference/laminates.json (16 plies, forces and moments) and
times those that are right; then runs `cargo bench -p calculations --bench laminates` and puts the
figures side by side.

    tests/speed/laminate_libraries.py            install, check, time, compare
    tests/speed/laminate_libraries.py --no-rust  the libraries only

One thread throughout. Times are the least and the median of 11 repeats.
"""

import json
import os
import pathlib
import statistics
import subprocess
import sys
import timeit
import venv

ROOT = pathlib.Path(__file__).resolve().parents[2]
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
ENVIRONMENT = TARGET / "laminate-libraries"
PACKAGES = ["numpy==2.4.6", "composites==0.10.1", "composipy==1.7.5", "lamkit==0.1.4"]
THREADS = {name: "1" for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")}
REPEATS = 11

# What the engine's bench calls the same work.
STRESSES = "ABD, stresses, Tsai-Wu"
CONSTANTS = "ABD and constants"
FULL = "full analysis and last-ply failure"


def install():
    """Makes the environment and starts this script again inside it."""
    python = ENVIRONMENT / "bin" / "python"
    if not python.exists():
        venv.create(ENVIRONMENT, with_pip=True)
    subprocess.run([python, "-m", "pip", "install", "--quiet", *PACKAGES], check=True)
    os.execve(python, [str(python), __file__, "--inside", *sys.argv[1:]], os.environ | THREADS)


def case():
    reference = json.loads((ROOT / "tests/reference/laminates.json").read_text())
    laminate = next(it for it in reference["laminates"] if it["id"] == "L37")
    return laminate, reference["materials"][laminate["plies"][0]["m"]]


def tsai_wu(np, material, stresses):
    """The lowest strength ratio; quadratic in the load."""
    m = material
    f1, f2 = 1 / m["Xt"] - 1 / m["Xc"], 1 / m["Yt"] - 1 / m["Yc"]
    f11, f22, f66 = 1 / (m["Xt"] * m["Xc"]), 1 / (m["Yt"] * m["Yc"]), 1 / m["S"] ** 2
    s1, s2, t12 = stresses[:, 0], stresses[:, 1], stresses[:, 2]
    a = f11 * s1**2 + f22 * s2**2 + f66 * t12**2 - np.sqrt(f11 * f22) * s1 * s2
    b = f1 * s1 + f2 * s2
    return ((-b + np.sqrt(b * b + 4 * a)) / (2 * a)).min()


def with_composipy(np, laminate, m):
    from composipy import LaminateProperty, LaminateStrength, OrthotropicMaterial

    angles = [ply["a"] for ply in laminate["plies"]]
    t = laminate["plies"][0]["t"]
    (nx, ny, nxy), (mx, my, mxy) = laminate["load"]["N"], laminate["load"]["M"]

    def work():
        ply = OrthotropicMaterial(m["E1"], m["E2"], m["nu12"], m["G12"], t)
        stack = LaminateProperty(angles, ply)
        strength = LaminateStrength(stack, nx, ny, nxy, mx, my, mxy)
        stresses = np.array(strength._stressk_123()).reshape(-1, 3)
        return stack.ABD, tsai_wu(np, m, stresses)

    return work


def with_lamkit(np, laminate, m):
    from lamkit.analysis.laminate import Laminate
    from lamkit.analysis.material import Material, Ply

    angles = [ply["a"] for ply in laminate["plies"]]
    t = laminate["plies"][0]["t"]
    load = np.array(laminate["load"]["N"] + laminate["load"]["M"])
    # It wants all its properties; those of the third direction and of its own criterion are not used.
    names = {"E11": m["E1"], "E22": m["E2"], "E33": m["E2"], "nu12": m["nu12"], "nu13": m["nu12"],
             "nu23": 0.4, "G12": m["G12"], "G13": m["G12"], "G23": m["G12"]}

    def work():
        material = Material("glass", names, check_larc05=False)
        stack = Laminate(angles, Ply(material, t))
        strain = stack.get_epsilon0(stack.ABD, load)
        stresses = []
        z = stack.z_position
        for k, angle in enumerate(angles):
            for height in (z[k], z[k + 1]):
                e = stack.strain_xy_at_z(strain, height)
                own = stack.strain_xy_global_to_material(e, angle)
                stresses.append(material.Q @ own)
        return stack.ABD, tsai_wu(np, m, np.array(stresses))

    return work


def with_numpy(np, laminate, m):
    """No library for laminates: the formulas by hand, all plies at once."""
    angles = np.radians([ply["a"] for ply in laminate["plies"]])
    t = laminate["plies"][0]["t"]
    load = np.array(laminate["load"]["N"] + laminate["load"]["M"])

    def work():
        d = 1 - m["nu12"] ** 2 * m["E2"] / m["E1"]
        q = np.array([[m["E1"] / d, m["nu12"] * m["E2"] / d, 0],
                      [m["nu12"] * m["E2"] / d, m["E2"] / d, 0], [0, 0, m["G12"]]])
        c, s = np.cos(angles), np.sin(angles)
        turn = np.empty((len(angles), 3, 3))
        turn[:, 0] = np.stack([c * c, s * s, c * s], 1)
        turn[:, 1] = np.stack([s * s, c * c, -c * s], 1)
        turn[:, 2] = np.stack([-2 * c * s, 2 * c * s, c * c - s * s], 1)
        bar = turn.transpose(0, 2, 1) @ q @ turn
        z = (np.arange(len(angles) + 1) - len(angles) / 2) * t
        a, b, dd = (np.tensordot(np.diff(z**n) / n, bar, 1) for n in (1, 2, 3))
        abd = np.block([[a, b], [b, dd]])
        strain = np.linalg.solve(abd, load)
        faces = np.stack([z[:-1], (z[:-1] + z[1:]) / 2, z[1:]], 1)
        eps = strain[:3] + faces[:, :, None] * strain[3:]
        stresses = (q @ turn)[:, None] @ eps[..., None]
        return abd, tsai_wu(np, m, stresses.reshape(-1, 3))

    return work


def with_composites(np, laminate, m):
    from composites import laminated_plate

    angles = [ply["a"] for ply in laminate["plies"]]
    t = laminate["plies"][0]["t"]
    prop = (m["E1"], m["E2"], m["nu12"], m["G12"], m["G12"], m["G12"])

    def work():
        plate = laminated_plate(angles, plyt=t, laminaprop=prop)
        return np.array(plate.ABD), plate.e1

    return work


def is_right(np, laminate, abd, answer, wanted):
    e = laminate["expected"]
    expected = np.block([[np.array(e["A"]), np.array(e["B"])], [np.array(e["B"]), np.array(e["D"])]])
    near = np.abs(abd - expected).max() <= 1e-8 * np.abs(expected).max()
    return bool(near) and abs(answer / wanted - 1) < 1e-8


def times(work):
    """Microseconds per call: least and median."""
    timer = timeit.Timer(work)
    number = max(1, int(0.05 / (timer.timeit(5) / 5)))
    runs = [seconds / number * 1e6 for seconds in timer.repeat(REPEATS, number)]
    return min(runs), statistics.median(runs)


def engine():
    """Microseconds per call of the engine's benches: least and median of the samples."""
    command = ["cargo", "bench", "--quiet", "-p", "calculations", "--bench", "laminates"]
    subprocess.run(command, check=True, cwd=ROOT, stdout=subprocess.DEVNULL)
    found = {}
    for file in (TARGET / "criterion").glob("**/new/sample.json"):
        name = json.loads((file.parent / "benchmark.json").read_text())["full_id"]
        sample = json.loads(file.read_text())
        each = [time / count / 1000 for time, count in zip(sample["times"], sample["iters"])]
        found[name] = (min(each), statistics.median(each))
    return found


def compare(rust):
    import numpy as np

    laminate, material = case()
    ratio = laminate["expected"]["first_ply_failure"]["tsai_wu"]["sr"]
    ex = laminate["expected"]["inplane"]["Ex"]
    rows = []
    for name, make, wanted, same in [
        ("composipy, stresses on 2 faces, Tsai-Wu added", with_composipy, ratio, STRESSES),
        ("lamkit, stresses on 2 faces, Tsai-Wu added", with_lamkit, ratio, STRESSES),
        ("numpy by hand, 3 faces (no laminate library)", with_numpy, ratio, STRESSES),
        ("composites (compiled), A, B, D and constants only", with_composites, ex, CONSTANTS),
    ]:
        work = make(np, laminate, material)
        right = is_right(np, laminate, *work(), wanted)
        rows.append((name, *times(work), right, same))
    engine_times = engine() if rust else {}
    print(f"\n{'library':52} {'min us':>9} {'median us':>10}  right  engine us  times faster (min)")
    for name, least, median, right, same in rows:
        ours = engine_times.get(same)
        beside = f"{ours[0]:9.2f}  {least / ours[0]:8.0f}" if ours else ""
        print(f"{name:52} {least:9.1f} {median:10.1f}  {'yes' if right else 'NO':5}  {beside}")
    for name, (least, median) in sorted(engine_times.items()):
        print(f"{'engine: ' + name:52} {least:9.2f} {median:10.2f}")
    if not rust:
        return 0
    fastest = min(least for _, least, _, right, same in rows[:2] if right)
    enough = fastest / engine_times[STRESSES][0]
    print(f"\nFastest right laminate library doing the same work: {fastest:.0f} us, {enough:.0f} times the engine's")
    return 0 if enough >= 100 else 1


if __name__ == "__main__":
    if "--inside" in sys.argv:
        sys.exit(compare("--no-rust" not in sys.argv))
    install()
