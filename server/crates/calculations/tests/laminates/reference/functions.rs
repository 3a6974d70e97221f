//! The functions of the reference, by their names there.

use calculations::laminates::mechanics::adhesive::{GolandReissner, HartSmith, Scarf, Volkersen};
use calculations::laminates::mechanics::micromechanics::{self, Phase};
use calculations::laminates::mechanics::outline::Outline;
use calculations::laminates::mechanics::ply::{Direction, Material};
use calculations::laminates::mechanics::{diffusion, fractions, rate};
use nalgebra::{Matrix3, Vector3};
use serde_json::{Value, json};

use super::{list, material, matrix, number, vector};

pub fn run_function(name: &str, args: &Value) -> Value {
    let n = |key: &str| number(args, key);
    let phase = |e: &str, nu: &str| Phase { e: n(e), nu: n(nu) };
    match name {
        "ply_thickness" => json!(fractions::ply_thickness(n("faw_g_m2"), n("rho_f_g_cc"), n("vf"))),
        "vf_from_wf" => json!(fractions::vf_from_wf(n("wf"), n("rho_f"), n("rho_m"))),
        "wf_from_vf" => json!(fractions::wf_from_vf(n("vf"), n("rho_f"), n("rho_m"))),
        "void_fraction" => {
            json!(fractions::void_fraction(n("rho_c"), n("wf"), n("rho_f"), n("rho_m")))
        }
        "composite_density" => {
            json!(fractions::composite_density(n("vf"), n("rho_f"), n("rho_m"), n("void")))
        }
        "resin_mass" => json!(fractions::resin_mass(n("fabric_g"), n("wf"), n("waste"))),
        "rule_of_mixtures" => json!({
            "parallel": micromechanics::parallel(n("pf"), n("pm"), n("vf")),
            "series": micromechanics::series(n("pf"), n("pm"), n("vf")),
        }),
        "halpin_tsai" => json!(micromechanics::halpin_tsai(n("pf"), n("pm"), n("vf"), n("xi"))),
        "micromechanics" => {
            let u = micromechanics::unidirectional(phase("ef", "nuf"), phase("em", "num"), n("vf"));
            json!({"Gf": u.gf, "Gm": u.gm, "E1": u.e1, "nu12": u.nu12,
                "E2_inverse_rom": u.e2_series, "G12_inverse_rom": u.g12_series,
                "E2_halpin_tsai": u.e2_halpin_tsai, "G12_halpin_tsai": u.g12_halpin_tsai})
        }
        "cte_schapery" => {
            let fibre = (phase("ef", "nuf"), n("af"));
            let matrix = (phase("em", "num"), n("am"));
            let (along, across) = micromechanics::expansion(fibre, matrix, n("vf"));
            json!([along, across])
        }
        "cure_time" => json!(rate::time_at(n("t_ref"), n("temp_ref"), n("temp"))),
        "moisture_fraction" => {
            let faces = if n("sides") == 1.0 { diffusion::Faces::One } else { diffusion::Faces::Both };
            json!(diffusion::fraction(n("diff"), n("time"), n("thickness"), faces))
        }
        "lamina" => run_lamina(args),
        "patch_plan" => run_patch(args),
        other => run_joint(other, args),
    }
}

fn run_joint(name: &str, args: &Value) -> Value {
    let n = |key: &str| number(args, key);
    match name {
        "volkersen" => {
            let joint = Volkersen {
                p: n("p"),
                length: n("length"),
                k1: n("e1") * n("t1"),
                k2: n("e2") * n("t2"),
                ga: n("ga"),
                ta: n("ta"),
            };
            let x: Vec<f64> = (0..=8).map(|i| f64::from(i) * n("length") / 8.0).collect();
            let tau: Vec<f64> = x.iter().map(|x| joint.tau(*x)).collect();
            let (max, average) = (joint.tau_max(), joint.tau_average());
            json!({"omega": joint.omega(), "x": x, "tau": tau, "tau_max": max,
                "tau_avg": average, "scf": max / average})
        }
        "goland_reissner" => {
            let joint = GolandReissner {
                p: n("p"),
                length: n("c2"),
                e: n("e"),
                nu: n("nu"),
                t: n("t"),
                ga: n("ga"),
                ta: n("ta"),
            };
            let (max, average) = (joint.tau_max(), joint.tau_average());
            json!({"k": joint.k(), "beta": joint.beta(), "tau_avg": average, "tau_max": max,
                "scf": max / average})
        }
        "hart_smith_double" => {
            let joint = HartSmith {
                outer: n("eo") * n("to"),
                inner: n("ei") * n("ti"),
                ta: n("ta"),
                tau_p: n("tau_p"),
                gamma_e: n("gam_e"),
                gamma_p: n("gam_p"),
            };
            json!({"P_inner_end": joint.at_inner_end(), "P_outer_end": joint.at_outer_end(),
                "P": joint.load()})
        }
        "scarf" => {
            let scarf = Scarf { p: n("p"), t: n("t"), ratio: n("ratio") };
            json!({"angle_deg": scarf.angle(), "length": scarf.length(),
                "bond_length": scarf.bond_length(), "tau": scarf.tau(), "sigma_n": scarf.normal()})
        }
        other => panic!("no such function: {other}"),
    }
}

fn run_lamina(args: &Value) -> Value {
    let material = material(&args["m"]);
    let direction = Direction::degrees(number(args, "a"));
    let (q, s) = (material.reduced(), material.elastic().compliance());
    let sbar = compliance_bar(&material, &direction);
    let stress = vector(&args["sig_xy"]);
    let sig_12 = direction.stress_in(&stress);
    let eps_xy = sbar * stress;
    let expansion = material.expansion();
    let alpha = direction.strain_out(&Vector3::new(expansion.a1, expansion.a2, 0.0));
    let ratios =
        material.envelope().map(|envelope| envelope.ratios(&Vector3::zeros(), &sig_12)).unwrap_or_default();
    json!({"Q": matrix(&q.matrix()), "S": matrix(&s.matrix()),
        "Qbar": matrix(&q.rotated(&direction)), "Sbar": matrix(&sbar),
        "nu21": material.elastic().nu21(), "alpha_xy": list(&alpha),
        "Ex": 1.0 / sbar[(0, 0)], "Ey": 1.0 / sbar[(1, 1)], "Gxy": 1.0 / sbar[(2, 2)],
        "nuxy": -sbar[(0, 1)] / sbar[(0, 0)],
        "eps_xy": list(&eps_xy), "sig_12": list(&sig_12), "eps_12": list(&direction.strain_in(&eps_xy)),
        "sr": {"max_stress": ratios.max_stress, "max_strain": ratios.max_strain,
            "tsai_hill": ratios.tsai_hill, "tsai_wu": ratios.tsai_wu}})
}

fn run_patch(args: &Value) -> Value {
    let n = |key: &str| number(args, key);
    let hole = Outline::Round { diameter: n("hole_d") };
    let step = n("step");
    let all: Vec<Outline> = (1..=5).map(|k| hole.grown(f64::from(k) * step)).collect();
    assert_eq!(all.len() as f64, n("n_plies") + n("extra"));
    let areas: Vec<f64> = all.iter().map(Outline::area).collect();
    let cloth = areas.iter().sum::<f64>();
    let blanks: f64 = all.iter().map(|o| o.turned(0.0)).map(|(w, h)| w * h).sum();
    let mass = cloth * 1e-6 * n("faw_g_m2");
    json!({
        "diameters": all.iter().map(|o| o.size().0).collect::<Vec<_>>(),
        "ply_areas": areas,
        "cloth_area": cloth,
        "square_blanks_area": blanks * (1.0 + n("waste_cloth")),
        "cloth_mass": mass,
        "resin_mass": fractions::resin_mass(mass, n("wf"), n("waste_resin")),
        "taper_ratio": step / n("ply_t"),
        "scarf_outer_d": all[3].size().0,
        "bond_area": all[4].area() - hole.area(),
    })
}

/// S-bar column by column: the strain that each unit stress causes.
fn compliance_bar(material: &Material, direction: &Direction) -> Matrix3<f64> {
    let own = material.elastic().compliance();
    Matrix3::from_columns(
        &[Vector3::x(), Vector3::y(), Vector3::z()]
            .map(|unit| direction.strain_out(&own.times(&direction.stress_in(&unit)))),
    )
}
