//! Where general-purpose libraries for laminates give other numbers than this engine, seen when 42
//! laminates were run through six of them (the reference's section 6). Each test says who is right
//! and why, and fails if the engine slips into the other way.

use calculations::laminates::mechanics::analysis::{Load, analyse};
use calculations::laminates::mechanics::laminate::{Change, Laminate, Resultants};
use calculations::laminates::mechanics::ply::{Elastic, Expansion, Material, Ply, Strengths};
use nalgebra::Vector3;

const GLASS: Elastic = Elastic { e1: 38600.0, e2: 8270.0, g12: 4140.0, nu12: 0.26 };

fn glass() -> Material {
    let strengths = Strengths { xt: 1062.0, xc: 610.0, yt: 31.0, yc: 118.0, s: 72.0 };
    let expansion = Expansion { a1: 8.6e-6, a2: 22.1e-6, b1: 0.0, b2: 0.6 };
    Material::new(GLASS, Some(strengths), expansion, Some(1800.0))
}

fn stack<'m>(material: &'m Material, angles: &[f64]) -> Laminate<'m> {
    let ply = |angle: &f64| Ply { material, thickness: 0.25, angle: *angle };
    Laminate::new(&angles.iter().map(ply).collect::<Vec<_>>())
}

fn pull(x: f64) -> Load {
    let force = Vector3::new(x, 0.0, 0.0);
    Load { mechanical: Resultants { force, moment: Vector3::zeros() }, ..Load::default() }
}

/// Ex of an unsymmetric laminate: three of six libraries give the full inverse, two give A alone.
/// Both are right, of different laminates: the full inverse lets it curl, A alone holds it flat.
/// The engine gives both and says which is which.
#[test]
fn free_to_curl_and_held_flat_are_both_given() {
    let material = glass();
    let laminate = stack(&material, &[0.0, 90.0]);
    let analysis = analyse(&laminate, &pull(10.0)).unwrap();
    // From the reference's L15: 16111 MPa free, 23579 MPa held flat, 46 % apart.
    assert!((analysis.inplane.ex / 16110.99833 - 1.0).abs() < 1e-9);
    assert!((analysis.inplane_held.ex / 23579.21842 - 1.0).abs() < 1e-9);
    // The free one is what a strip in a testing machine shows: load over strain of the mid-plane.
    let h = laminate.thickness();
    let shown = 10.0 / h / analysis.deformation.strain.x;
    assert!((shown / analysis.inplane.ex - 1.0).abs() < 1e-12);
    // Held flat, the strain is smaller, because curling relieves the load.
    assert!(analysis.deformation.curvature.x.abs() > 1e-6);
}

/// Q66: one library divides it by 1 - nu12 nu21, like Q11 and Q22. The engine does not, and is
/// right: shear does not couple with the direct stresses, so its stiffness is G12 itself.
#[test]
fn q66_is_the_shear_modulus_as_it_is() {
    assert_eq!(GLASS.reduced().q66, GLASS.g12);
    // Pure shear of one ply at 0°: A66 = G12 t.
    let material = glass();
    let a = stack(&material, &[0.0]).stiffness().a;
    assert!((a[(2, 2)] / (4140.0 * 0.25) - 1.0).abs() < 1e-15);
}

/// Small entries: one library sets entries of A, B, D that are negative or below 1e-6 to zero,
/// another those below 1e-3. The engine keeps them, and is right: entries may be negative, and
/// what is small depends on the unit.
#[test]
fn no_entry_is_cut_off() {
    let material = glass();
    // A16 of a ply at -45° is negative, and so is B11 of [0/90].
    assert!(stack(&material, &[-45.0]).stiffness().a[(0, 2)] < -1000.0);
    assert!(stack(&material, &[0.0, 90.0]).stiffness().b[(0, 0)] < -100.0);
    // The same laminate in metres and pascals: D is of the order of 1e-3 N m and all there.
    let si = Elastic { e1: 38.6e9, e2: 8.27e9, g12: 4.14e9, nu12: 0.26 };
    let in_si = Material::new(si, None, Expansion::default(), None);
    let plies = [0.0, 90.0].map(|angle| Ply { material: &in_si, thickness: 0.05e-3, angle });
    let d = Laminate::new(&plies).stiffness().d;
    let in_mm = [0.0, 90.0].map(|angle| Ply { material: &material, thickness: 0.05, angle });
    let expected = Laminate::new(&in_mm).stiffness().d * 1e-3;
    assert!(d[(0, 0)] < 2e-3 && (d - expected).amax() < 1e-15 * expected.amax() * 10.0);
}

/// Order of plies: two libraries put the first ply at +z, so B changes its sign. Neither order is
/// wrong, but it must be one order everywhere: one of them builds A, B, D from +z and evaluates
/// stress from -z, which is. The engine lists plies from -h/2 upwards, and its stresses carry
/// the load (the property tests integrate them).
#[test]
fn the_first_ply_is_the_lowest_everywhere() {
    let material = glass();
    let laminate = stack(&material, &[0.0, 90.0]);
    assert_eq!(laminate.layers()[0].z0, -0.25);
    let analysis = analyse(&laminate, &pull(10.0)).unwrap();
    assert_eq!((analysis.points[0].ply, analysis.points[0].z), (0, -0.25));
    // The stiff ply lies low, so pulling at mid-plane bends the sheet: kappa_x > 0 stretches +z.
    assert!(analysis.stiffness.b[(0, 0)] < 0.0 && analysis.deformation.curvature.x > 0.0);
    // And the stress jumps where the plies meet, from the stiff to the soft.
    let (below, above) = (&analysis.points[2], &analysis.points[3]);
    assert_eq!(below.z, above.z);
    assert!(below.sig_xy.x > 2.0 * above.sig_xy.x);
}

/// Poisson's ratio: one library leaves out the minus in -a12/a11. The engine keeps it: a glass
/// sheet pulled along x becomes narrower, and its ratio is positive.
#[test]
fn poissons_ratio_is_positive_for_a_sheet_that_becomes_narrower() {
    let material = glass();
    let analysis = analyse(&stack(&material, &[0.0]), &pull(10.0)).unwrap();
    assert!(analysis.deformation.strain.y < 0.0);
    assert!((analysis.inplane.nuxy / 0.26 - 1.0).abs() < 1e-12);
}

/// Faces: one library uses the strain of the upper face for the stress of the lower, and swaps the
/// faces above and below the mid-plane; another labels its tables of stress and of allowables the
/// other way round from each other (numbers right). The engine's faces go by rising z.
#[test]
fn faces_go_by_rising_z() {
    let material = glass();
    let moment = Vector3::new(5.0, 0.0, 0.0);
    let load = Load { mechanical: Resultants { force: Vector3::zeros(), moment }, ..Load::default() };
    let analysis = analyse(&stack(&material, &[0.0; 4]), &load).unwrap();
    for point in &analysis.points {
        // Pure bending of one material: stress = 12 M z / h³.
        let expected = 12.0 * 5.0 * point.z;
        assert!((point.sig_xy.x - expected).abs() < 1e-9, "{point:?}");
    }
    assert!(analysis.points.windows(2).all(|pair| pair[0].z <= pair[1].z));
}

/// Symmetric stacks: one library reverses the angles' signs when it mirrors a stack. Mirroring a
/// stack about its mid-plane keeps each ply's angle: seen from the same side it is the same ply.
#[test]
fn a_mirrored_stack_keeps_its_angles() {
    let material = glass();
    let symmetric = stack(&material, &[45.0, -30.0, -30.0, 45.0]).stiffness();
    assert!(symmetric.b.amax() < 1e-12 * symmetric.a.amax());
    let signs_reversed = stack(&material, &[45.0, -30.0, 30.0, -45.0]).stiffness();
    assert!(signs_reversed.b.amax() > 1e-3 * signs_reversed.a.amax());
}

/// Tsai-Wu: one library returns a strength ratio under the name of an index. The index is not
/// proportional to the load, so neither can stand for the other: the engine gives both.
#[test]
fn tsai_wu_index_and_ratio_are_two_things() {
    let material = glass();
    let envelope = material.envelope().unwrap();
    let stress = Vector3::new(0.0, 15.5, 0.0);
    let index = envelope.indices(&stress).tsai_wu;
    let ratio = envelope.ratios(&Vector3::zeros(), &stress).tsai_wu.unwrap();
    // Half of Yt: the ratio is 2, the index (15.5/31 - 15.5/118) + 15.5²/(31 × 118).
    assert!((ratio - 2.0).abs() < 1e-12);
    let by_hand = 15.5 / 31.0 - 15.5 / 118.0 + 15.5 * 15.5 / (31.0 * 118.0);
    assert!((index - by_hand).abs() < 1e-15);
    assert!((1.0 / index - ratio).abs() > 0.2);
}

/// Expansion of an unsymmetric laminate: one library gives that of the laminate held flat. Free,
/// it curls as it expands; the engine gives the free values with their curvature.
#[test]
fn expansion_is_of_the_free_laminate() {
    let material = glass();
    let laminate = stack(&material, &[0.0, 90.0]);
    let hot = Load { change: Change { temperature: 1.0, moisture: 0.0 }, ..Load::default() };
    let analysis = analyse(&laminate, &hot).unwrap();
    // From the reference's L15 (scaled from plies of 0.3 mm): 13.886e-6 per kelvin, and curvature.
    assert!((analysis.per_kelvin.strain.x / 1.388612386e-5 - 1.0).abs() < 1e-9);
    assert!((analysis.per_kelvin.curvature.x / (2.853508567e-5 * 0.3 / 0.25) - 1.0).abs() < 1e-9);
    // Held flat: A⁻¹ N_T, which is less.
    let flat = nalgebra::Cholesky::new(analysis.stiffness.a).unwrap().solve(&analysis.hygrothermal.force);
    assert!((flat.x / analysis.per_kelvin.strain.x - 1.0).abs() > 0.1);
}

/// Several materials: one library takes the first ply's material for all. The engine does not.
#[test]
fn each_ply_has_its_own_material() {
    let glass = glass();
    let foam = Elastic { e1: 75.0, e2: 75.0, g12: 28.85, nu12: 0.3 };
    let foam = Material::new(foam, None, Expansion::default(), Some(75.0));
    let plies = [
        Ply { material: &glass, thickness: 0.25, angle: 0.0 },
        Ply { material: &foam, thickness: 6.0, angle: 0.0 },
        Ply { material: &glass, thickness: 0.25, angle: 0.0 },
    ];
    let laminate = Laminate::new(&plies);
    // Skins and core in parallel, along x without the sideways coupling's few per cent.
    let a11 = laminate.stiffness().a[(0, 0)];
    assert!((a11 / (2.0 * 0.25 * 38600.0 + 6.0 * 75.0) - 1.0).abs() < 0.02);
    assert_eq!(laminate.areal_mass(), Some(0.5 * 1800.0 + 6.0 * 75.0));
    // 300 times softer inside, and the inverse still gives the strains back.
    let analysis = analyse(&laminate, &pull(40.0)).unwrap();
    let strain = analysis.deformation.strain.x;
    assert!((strain * a11 / 40.0 - 1.0).abs() < 0.05);
}
