//! The mechanics under the laminate worksheets: plain numbers in, plain numbers out.
//!
//! Conventions, the same everywhere in this folder:
//! - millimetre, newton, megapascal; N in N/mm, M in N (N mm per mm); A in N/mm, B in N, D in N mm.
//!   Nothing here depends on those units: any consistent set gives consistent answers, because no
//!   threshold is absolute.
//! - plies are listed from z = -h/2 upwards; `lo`, `mid` and `hi` are a ply's faces by rising z,
//!   never "top" and "bottom", about which the books disagree;
//! - the angle is anticlockwise from x to the ply's axis 1; shear strain and twist are engineering;
//! - strain = mid-plane strain + z curvature; stress = Q (strain - expansion).

pub mod adhesive;
pub mod analysis;
pub mod compliance;
pub mod criteria;
pub mod diffusion;
pub mod discount;
pub mod fractions;
pub mod history;
pub mod laminate;
pub mod micromechanics;
pub mod outline;
pub mod ply;
pub mod rate;
