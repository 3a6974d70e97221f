//! Whether a camera could have seen the marks like that.

use nalgebra::Vector3;

/// Focal lengths that are tried, in half diagonals: from a phone's widest lens
/// (0.6) to its longest (6) and some.
const FOCAL: (f64, f64) = (0.5, 8.0);
const STEPS: u32 = 80;

/// By how much the surface would have to be stretched, at the likeliest focal
/// length: a camera with square pixels sees two equally long, square directions
/// of a surface as `K r1` and `K r2` with r1 and r2 equally long and square. Source:
/// Zhang, "A flexible new technique for camera calibration", IEEE PAMI 22(11),
/// 2000, equations 3 and 4, with the principal point in the picture's middle.
pub(crate) fn stretch(along: Vector3<f64>, across: Vector3<f64>) -> f64 {
    let ratio = libm::pow(FOCAL.1 / FOCAL.0, 1.0 / f64::from(STEPS));
    let mut focal = FOCAL.0;
    let mut least = f64::INFINITY;
    for _ in 0..=STEPS {
        let seen = |it: Vector3<f64>| Vector3::new(it.x / focal, it.y / focal, it.z);
        let (one, other) = (seen(along), seen(across));
        let lengths = libm::log(one.norm() / other.norm());
        let lean = one.dot(&other) / (one.norm() * other.norm());
        least = least.min((lengths * lengths + lean * lean).sqrt());
        focal *= ratio;
    }
    least
}
