//! Failure criteria of a ply in plane stress: how near a stress is to failure (index), and how
//! many times the load may grow (strength ratio).
//!
//! The forms in use here, because several are in print under the same names:
//! - Tsai-Hill is sign-aware: X by the sign of stress 1, Y by the sign of stress 2, interaction
//!   term -s1 s2 / X². Where Y is more than twice X the form is open, and some stress has no ratio
//!   by it;
//! - Tsai-Wu has F12 = -½ √(F11 F22);
//! - Hashin is the 1980 plane-stress form with alpha = 1 and a transverse shear strength of Yc/2.

use nalgebra::Vector3;

use super::ply::{Elastic, Strengths};

/// Relative difference below which two results are the same but for rounding.
const ROUNDING: f64 = 1e-12;

/// What the criteria need to know about a ply.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Envelope {
    strengths: Strengths,
    /// One over each strength.
    per: Strengths,
    nu12: f64,
    nu21: f64,
    wu: TsaiWu,
}

/// The coefficients of Tsai and Wu's polynomial.
#[derive(Clone, Copy, Debug, PartialEq)]
struct TsaiWu {
    f1: f64,
    f2: f64,
    f11: f64,
    f22: f64,
    f66: f64,
    f12: f64,
}

/// How a ply fails.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mode {
    /// Pulled apart along axis 1.
    FibreTension,
    /// Crushed or kinked along axis 1.
    FibreCompression,
    /// Pulled apart across axis 1.
    MatrixTension,
    /// Crushed across axis 1.
    MatrixCompression,
    /// Sheared in the plane.
    Shear,
}

impl Mode {
    /// Its name in results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::FibreTension => "fibre_tension",
            Self::FibreCompression => "fibre_compression",
            Self::MatrixTension => "matrix_tension",
            Self::MatrixCompression => "matrix_compression",
            Self::Shear => "shear",
        }
    }

    /// Whether the fibres go, and with them everything the ply carries.
    #[must_use]
    pub const fn breaks_fibres(self) -> bool {
        matches!(self, Self::FibreTension | Self::FibreCompression)
    }
}

/// Failure indices: 1 at failure. Only max stress and max strain grow in step with the load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Indices {
    /// Largest stress over its strength.
    pub max_stress: f64,
    /// Largest stress-caused strain over its limit.
    pub max_strain: f64,
    /// Tsai-Hill, sign-aware.
    pub tsai_hill: f64,
    /// Tsai-Wu.
    pub tsai_wu: f64,
    /// Hashin, fibre.
    pub hashin_fibre: f64,
    /// Hashin, matrix.
    pub hashin_matrix: f64,
}

/// How near a point is to failure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged {
    /// Indices at the load as applied.
    pub indices: Indices,
    /// The mode that is nearest.
    pub mode: Mode,
    /// How many times the mechanical load may grow.
    pub ratios: Ratios,
}

/// Strength ratios: how many times N and M may grow, thermal and moisture stress held as it is.
/// `None`: no finite multiplier. 0: failed by thermal and moisture stress alone.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ratios {
    /// By max stress.
    pub max_stress: Option<f64>,
    /// By max strain.
    pub max_strain: Option<f64>,
    /// By Tsai-Hill.
    pub tsai_hill: Option<f64>,
    /// By Tsai-Wu.
    pub tsai_wu: Option<f64>,
}

/// A criterion that gives a strength ratio.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Criterion {
    /// Max stress.
    MaxStress,
    /// Max strain.
    MaxStrain,
    /// Tsai-Hill.
    TsaiHill,
    /// Tsai-Wu.
    TsaiWu,
}

impl Criterion {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::MaxStress, Self::MaxStrain, Self::TsaiHill, Self::TsaiWu];

    /// Its name in results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::MaxStress => "max_stress",
            Self::MaxStrain => "max_strain",
            Self::TsaiHill => "tsai_hill",
            Self::TsaiWu => "tsai_wu",
        }
    }
}

impl Ratios {
    /// The ratio by one criterion.
    #[must_use]
    pub const fn by(&self, criterion: Criterion) -> Option<f64> {
        match criterion {
            Criterion::MaxStress => self.max_stress,
            Criterion::MaxStrain => self.max_strain,
            Criterion::TsaiHill => self.tsai_hill,
            Criterion::TsaiWu => self.tsai_wu,
        }
    }
}

impl Envelope {
    /// From a ply's constants.
    #[must_use]
    pub fn new(elastic: &Elastic, strengths: Strengths) -> Self {
        let Strengths { xt, xc, yt, yc, s } = strengths;
        let (f11, f22) = (1.0 / (xt * xc), 1.0 / (yt * yc));
        let per = Strengths { xt: 1.0 / xt, xc: 1.0 / xc, yt: 1.0 / yt, yc: 1.0 / yc, s: 1.0 / s };
        Self {
            strengths,
            per,
            nu12: elastic.nu12,
            nu21: elastic.nu21(),
            wu: TsaiWu {
                f1: 1.0 / xt - 1.0 / xc,
                f2: 1.0 / yt - 1.0 / yc,
                f11,
                f22,
                f66: 1.0 / (s * s),
                f12: -0.5 * (f11 * f22).sqrt(),
            },
        }
    }

    /// The strengths it was made from.
    #[must_use]
    pub const fn strengths(&self) -> &Strengths {
        &self.strengths
    }

    /// Judges a stress `held + scaled` in ply axes, of which a growing load multiplies `scaled`.
    #[must_use]
    #[inline]
    pub fn judge(&self, held: &Vector3<f64>, scaled: &Vector3<f64>) -> Judged {
        let stress = held + scaled;
        let own = self.ratios_to_strength(&stress);
        let [fibre, matrix, shear] = own.map(|ratio| ratio * ratio);
        let indices = Indices {
            max_stress: largest(own),
            max_strain: largest(self.ratios_to_strength(&self.as_strain(&stress))),
            tsai_hill: self.hill(&stress),
            tsai_wu: self.wu.at(&stress),
            // With ST = Yc/2 the linear term of matrix compression, (Yc²/4ST² - 1) s2/Yc, is zero.
            hashin_fibre: if stress.x < 0.0 { fibre } else { fibre + shear },
            hashin_matrix: matrix + shear,
        };
        let ratios = if is_nothing(held) {
            Ratios {
                max_stress: one_over(indices.max_stress),
                max_strain: one_over(indices.max_strain),
                tsai_hill: one_over(indices.tsai_hill.sqrt()),
                tsai_wu: self.wu.alone(scaled).first_crossing(),
            }
        } else {
            self.ratios(held, scaled)
        };
        Judged { indices, mode: mode_of(own, &stress), ratios }
    }

    /// Indices of a stress in ply axes.
    #[must_use]
    pub fn indices(&self, stress: &Vector3<f64>) -> Indices {
        self.judge(&Vector3::zeros(), stress).indices
    }

    /// The mode with the largest stress over strength.
    #[must_use]
    pub fn mode(&self, stress: &Vector3<f64>) -> Mode {
        mode_of(self.ratios_to_strength(stress), stress)
    }

    /// Strength ratios when the stress is `held + R × scaled`.
    #[must_use]
    pub fn ratios(&self, held: &Vector3<f64>, scaled: &Vector3<f64>) -> Ratios {
        Criterion::ALL.into_iter().fold(Ratios::default(), |mut ratios, criterion| {
            let ratio = self.ratio(criterion, held, scaled);
            match criterion {
                Criterion::MaxStress => ratios.max_stress = ratio,
                Criterion::MaxStrain => ratios.max_strain = ratio,
                Criterion::TsaiHill => ratios.tsai_hill = ratio,
                Criterion::TsaiWu => ratios.tsai_wu = ratio,
            }
            ratios
        })
    }

    /// The strength ratio by one criterion when the stress is `held + R × scaled`.
    #[must_use]
    #[inline]
    pub fn ratio(&self, criterion: Criterion, held: &Vector3<f64>, scaled: &Vector3<f64>) -> Option<f64> {
        match criterion {
            Criterion::MaxStress => self.linear_ratio(held, scaled),
            Criterion::MaxStrain => self.linear_ratio(&self.as_strain(held), &self.as_strain(scaled)),
            Criterion::TsaiHill => self.hill_ratio(held, scaled),
            Criterion::TsaiWu if is_nothing(held) => self.wu.alone(scaled).first_crossing(),
            Criterion::TsaiWu => self.wu.along(held, scaled).first_crossing(),
        }
    }

    /// The strength ratio of the fibres alone, for a ply whose matrix has already cracked.
    #[must_use]
    pub fn fibre_ratio(&self, held: f64, scaled: f64) -> Option<f64> {
        up_to(held, scaled, self.strengths.xt, self.strengths.xc)
    }

    /// The stress that would cause the same direct strain with nothing across: E times strain.
    /// With it, max strain is max stress.
    #[inline]
    fn as_strain(&self, stress: &Vector3<f64>) -> Vector3<f64> {
        Vector3::new(stress.x - self.nu12 * stress.y, stress.y - self.nu21 * stress.x, stress.z)
    }

    #[inline]
    fn ratios_to_strength(&self, stress: &Vector3<f64>) -> [f64; 3] {
        let per = &self.per;
        [
            stress.x.abs() * if stress.x < 0.0 { per.xc } else { per.xt },
            stress.y.abs() * if stress.y < 0.0 { per.yc } else { per.yt },
            stress.z.abs() * per.s,
        ]
    }

    fn linear_ratio(&self, held: &Vector3<f64>, scaled: &Vector3<f64>) -> Option<f64> {
        if is_nothing(held) {
            return one_over(largest(self.ratios_to_strength(scaled)));
        }
        let Strengths { xt, xc, yt, yc, s } = self.strengths;
        [up_to(held.x, scaled.x, xt, xc), up_to(held.y, scaled.y, yt, yc), up_to(held.z, scaled.z, s, s)]
            .into_iter()
            .flatten()
            .reduce(f64::min)
    }

    /// Tsai-Hill's index.
    #[inline]
    fn hill(&self, s: &Vector3<f64>) -> f64 {
        let per = &self.per;
        let x = if s.x < 0.0 { per.xc } else { per.xt };
        let [fibre, matrix, shear] = self.ratios_to_strength(s);
        fibre * fibre - s.x * s.y * (x * x) + matrix * matrix + shear * shear
    }

    /// Tsai-Hill along `held + R × scaled`, with the strengths that `signs` picks.
    fn hill_along(&self, held: &Vector3<f64>, scaled: &Vector3<f64>, signs: &Vector3<f64>) -> Quadratic {
        let Strengths { xt, xc, yt, yc, s } = self.strengths;
        let x = if signs.x < 0.0 { xc } else { xt };
        let y = if signs.y < 0.0 { yc } else { yt };
        let form = |p: &Vector3<f64>, q: &Vector3<f64>| {
            (p.x * q.x - 0.5 * (p.x * q.y + p.y * q.x)) / (x * x) + p.y * q.y / (y * y) + p.z * q.z / (s * s)
        };
        Quadratic { a: form(scaled, scaled), b: 2.0 * form(held, scaled), c: form(held, held) }
    }

    fn hill_ratio(&self, held: &Vector3<f64>, scaled: &Vector3<f64>) -> Option<f64> {
        if is_nothing(held) {
            return one_over(self.hill(scaled).sqrt());
        }
        if self.hill(held) >= 1.0 {
            return Some(0.0);
        }
        // The form changes where stress 1 or stress 2 passes through zero, and is continuous there.
        let turn = |held: f64, scaled: f64| {
            let at = -held / scaled;
            if at > 0.0 { at } else { f64::INFINITY }
        };
        let (one, two) = (turn(held.x, scaled.x), turn(held.y, scaled.y));
        let turns = [0.0, one.min(two), one.max(two), f64::INFINITY];
        turns.windows(2).find_map(|piece| {
            let (from, to) = (piece[0], piece[1]);
            let inside = if to.is_finite() { 0.5 * (from + to) } else { 2.0 * from + 1.0 };
            if from >= to {
                return None;
            }
            let form = self.hill_along(held, scaled, &(held + scaled * inside));
            form.crossing_from(from).filter(|at| *at <= to * (1.0 + ROUNDING))
        })
    }
}

impl TsaiWu {
    #[inline]
    fn form(&self, p: &Vector3<f64>, q: &Vector3<f64>) -> f64 {
        self.f11 * p.x * q.x
            + self.f22 * p.y * q.y
            + self.f66 * p.z * q.z
            + self.f12 * (p.x * q.y + p.y * q.x)
    }

    #[inline]
    fn line(&self, p: &Vector3<f64>) -> f64 {
        self.f1 * p.x + self.f2 * p.y
    }

    #[inline]
    fn at(&self, stress: &Vector3<f64>) -> f64 {
        self.line(stress) + self.form(stress, stress)
    }

    /// Along `R × scaled`.
    #[inline]
    fn alone(&self, scaled: &Vector3<f64>) -> Quadratic {
        Quadratic { a: self.form(scaled, scaled), b: self.line(scaled), c: 0.0 }
    }

    /// Along `held + R × scaled`.
    fn along(&self, held: &Vector3<f64>, scaled: &Vector3<f64>) -> Quadratic {
        Quadratic {
            a: self.form(scaled, scaled),
            b: self.line(scaled) + 2.0 * self.form(held, scaled),
            c: self.at(held),
        }
    }
}

/// Whether there is no stress at all.
#[inline]
fn is_nothing(stress: &Vector3<f64>) -> bool {
    stress.x == 0.0 && stress.y == 0.0 && stress.z == 0.0
}

fn largest([fibre, matrix, shear]: [f64; 3]) -> f64 {
    fibre.max(matrix).max(shear)
}

/// The ratio of an index that grows with the load: none when there is nothing that grows.
fn one_over(index: f64) -> Option<f64> {
    (index > 0.0).then(|| 1.0 / index)
}

/// The mode with the largest stress over strength. Ties within rounding go to the fibre, then to
/// the matrix, so that an isotropic sheet does not flicker between names.
fn mode_of(ratios: [f64; 3], stress: &Vector3<f64>) -> Mode {
    let [fibre, matrix, _] = ratios;
    let level = largest(ratios) * (1.0 - ROUNDING);
    if fibre >= level {
        if stress.x < 0.0 { Mode::FibreCompression } else { Mode::FibreTension }
    } else if matrix >= level {
        if stress.y < 0.0 { Mode::MatrixCompression } else { Mode::MatrixTension }
    } else {
        Mode::Shear
    }
}

/// How far one stress may go until it meets a limit of either sign.
fn up_to(held: f64, scaled: f64, tension: f64, compression: f64) -> Option<f64> {
    if held >= tension || held <= -compression {
        Some(0.0)
    } else if scaled > 0.0 {
        Some((tension - held) / scaled)
    } else if scaled < 0.0 {
        Some((compression + held) / -scaled)
    } else {
        None
    }
}

/// A criterion along a growing load: a R² + b R + c, failing at 1.
#[derive(Clone, Copy, Debug)]
struct Quadratic {
    a: f64,
    b: f64,
    c: f64,
}

impl Quadratic {
    /// The first R ≥ 0 at which it reaches 1; 0 when it starts there.
    #[inline]
    fn first_crossing(&self) -> Option<f64> {
        if self.c >= 1.0 {
            return Some(0.0);
        }
        if self.a <= 0.0 {
            return self.crossing_from(0.0);
        }
        // One root lies above zero. Of its two forms, the one that adds numbers of the same sign.
        let missing = 1.0 - self.c;
        let root = (self.b * self.b + 4.0 * self.a * missing).sqrt();
        let crossing =
            if self.b < 0.0 { (root - self.b) / (2.0 * self.a) } else { 2.0 * missing / (self.b + root) };
        crossing.is_finite().then_some(crossing)
    }

    /// The smallest root of "equals 1" at or above `from`.
    fn crossing_from(&self, from: f64) -> Option<f64> {
        let missing = 1.0 - self.c;
        let root = (self.b * self.b + 4.0 * self.a * missing).sqrt();
        // Of the two forms of each root, the one that adds numbers of the same sign.
        let q = -0.5 * (self.b + if self.b < 0.0 { -root } else { root });
        let roots = [q / self.a, -missing / q];
        roots.into_iter().filter(|r| r.is_finite() && *r >= from * (1.0 - ROUNDING)).reduce(f64::min)
    }
}
