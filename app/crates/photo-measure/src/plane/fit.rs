//! Finds how the surface is seen from marks: a direct solution, then the
//! smallest reprojection error.

use nalgebra::{Cholesky, Matrix2, SMatrix, SVector, SymmetricEigen, Vector2};

use super::lens::Bend;
use super::view::{Frame, Normalised, UNKNOWNS, Unknowns, View};
use crate::error::{Reason, Refused};
use crate::units::Mark;

pub(crate) type Square = SMatrix<f64, UNKNOWNS, UNKNOWNS>;

/// Squared condition of the marks' equations past which they leave something open.
const CONDITION_MOST: f64 = 1e11;
const STEPS_MOST: usize = 100;

/// A view that fits the marks, and how well they hold it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Fitted {
    pub(crate) view: View,
    /// The unknowns' covariance is root · rootᵀ · (the marks' variance).
    pub(crate) root: Square,
    /// Sum of squared reprojection errors, px².
    pub(crate) squares: f64,
}

fn undetermined() -> Refused {
    Refused::new("marks", Reason::Undetermined, "known points spread over the surface, no three in a line")
}

/// What both fits begin with: frames in which all numbers are of order one.
fn framed(marks: &[Mark], frame: Frame, bend: Bend) -> Option<(View, Vec<[Vector2<f64>; 2]>)> {
    let straightened: Option<Vec<_>> =
        marks.iter().map(|mark| bend.straighten(frame.apply(mark.at.vector()))).collect();
    let straightened = straightened?;
    let known: Vec<_> = marks.iter().map(|mark| mark.known.vector()).collect();
    let (surface, straight) = (Normalised::of(&known)?, Normalised::of(&straightened)?);
    let pairs =
        known.iter().zip(&straightened).map(|(k, s)| [surface.apply(*k), straight.apply(*s)]).collect();
    let mut unknowns = Unknowns::zeros();
    unknowns[8] = bend.0;
    Some((View { frame, surface, straight, unknowns }, pairs))
}

/// Normalised direct linear transformation: the null vector of the marks'
/// equations. Source: Hartley and Zisserman, "Multiple View Geometry in Computer
/// Vision", 2nd edition, algorithm 4.2.
fn direct(marks: &[Mark], frame: Frame, bend: Bend) -> Option<View> {
    let (mut view, pairs) = framed(marks, frame, bend)?;
    let mut normal = Square::zeros();
    for [from, to] in &pairs {
        let (x, y, u, v) = (from.x, from.y, to.x, to.y);
        let across = SVector::from([x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y, -u]);
        let down = SVector::from([0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y, -v]);
        normal += across * across.transpose() + down * down.transpose();
    }
    let eigen = SymmetricEigen::try_new(normal, 1e-15, 10_000)?;
    let solution = eigen.eigenvectors.column(eigen.eigenvalues.imin());
    let last = solution[8];
    if last.abs() < 1e-9 {
        return None;
    }
    for place in 0..8 {
        view.unknowns[place] = solution[place] / last;
    }
    Some(view)
}

/// Equations of the marks around a view, J their slopes and r their residuals:
/// `JᵀJ`, `Jᵀr` and `r²`.
fn equations(view: &View, marks: &[Mark], free: usize) -> Option<(Square, Unknowns, f64)> {
    let (mut normal, mut right, mut squares) = (Square::zeros(), Unknowns::zeros(), 0.0);
    for mark in marks {
        let seen = view.project(mark.known.vector())?;
        let residual = mark.at.vector() - seen.at;
        let mut slopes = seen.by_unknowns;
        slopes.columns_mut(free, UNKNOWNS - free).fill(0.0);
        normal += slopes.transpose() * slopes;
        right += slopes.transpose() * residual;
        squares += residual.norm_squared();
    }
    // What isn't free stays: an equation of its own that says "no step".
    for place in free..UNKNOWNS {
        normal[(place, place)] = 1.0;
    }
    (squares.is_finite() && normal.iter().all(|it| it.is_finite())).then_some((normal, right, squares))
}

/// Smallest reprojection error by Levenberg's and Marquardt's damping over
/// nalgebra's Cholesky. Source: Hartley and Zisserman, appendix A6.2.
fn refine(mut view: View, marks: &[Mark], free: usize) -> Option<(View, Square, f64)> {
    let (mut normal, mut right, mut squares) = equations(&view, marks, free)?;
    let mut damping = 1e-4;
    for _ in 0..STEPS_MOST {
        let mut damped = normal;
        for place in 0..UNKNOWNS {
            damped[(place, place)] *= 1.0 + damping;
        }
        let step = Cholesky::new(damped)?.solve(&right);
        let next = View { unknowns: view.unknowns + step, ..view.clone() };
        match equations(&next, marks, free).filter(|(_, _, better)| *better <= squares) {
            Some(better) => {
                let gain = squares - better.2;
                (view, normal, right, squares) = (next, better.0, better.1, better.2);
                damping = (damping * 0.1).max(1e-15);
                if gain <= 1e-13 * squares || step.norm() < 1e-14 {
                    break;
                }
            }
            None if damping > 1e8 => break,
            None => damping *= 10.0,
        }
    }
    Some((view, normal, squares))
}

/// A square root of the inverse; `None` if it's ill conditioned.
fn inverse_root(normal: Square) -> Option<Square> {
    let scales = normal.diagonal().map(|it| 1.0 / it.sqrt());
    let scaled = Square::from_fn(|row, column| normal[(row, column)] * scales[row] * scales[column]);
    let values = SymmetricEigen::try_new(scaled, 1e-15, 10_000)?.eigenvalues;
    if values.min() * CONDITION_MOST < values.max() || values.min().is_nan() {
        return None;
    }
    let lower = Cholesky::new(scaled)?.l();
    let inverse = lower.transpose().try_inverse()?;
    Some(Square::from_diagonal(&scales) * inverse)
}

/// The perspective view that fits the marks best, with a lens that is given or
/// found along with it.
pub(crate) fn perspective(
    marks: &[Mark],
    frame: Frame,
    bend: Bend,
    find_bend: bool,
) -> Result<Fitted, Refused> {
    let free = if find_bend { UNKNOWNS } else { UNKNOWNS - 1 };
    let fitted = direct(marks, frame, bend).and_then(|view| refine(view, marks, free)).and_then(
        |(view, normal, squares)| {
            let mut root = inverse_root(normal)?;
            for place in free..UNKNOWNS {
                root.column_mut(place).fill(0.0);
                root.row_mut(place).fill(0.0);
            }
            Some(Fitted { view, root, squares })
        },
    );
    fitted.ok_or_else(undetermined)
}

/// The square-on view that two marks give: turned, scaled, shifted.
pub(crate) fn square_on(marks: &[Mark; 2], frame: Frame, bend: Bend) -> Result<Fitted, Refused> {
    let (mut view, pairs) = framed(marks, frame, bend).ok_or_else(undetermined)?;
    let [[from, to], _] = pairs[..] else { return Err(undetermined()) };
    // Both middles are 0, so only turn and scale are left: complex division.
    let size = from.norm_squared();
    let cosine = from.dot(&to) / size;
    let sine = (from.x * to.y - from.y * to.x) / size;
    for (place, value) in [(0, cosine), (1, -sine), (3, sine), (4, cosine)] {
        view.unknowns[place] = value;
    }
    let mut embed = SMatrix::<f64, UNKNOWNS, 4>::zeros();
    for (row, column, value) in
        [(0, 0, 1.0), (4, 0, 1.0), (1, 1, -1.0), (3, 1, 1.0), (2, 2, 1.0), (5, 3, 1.0)]
    {
        embed[(row, column)] = value;
    }
    let mut by_marks = SMatrix::<f64, 4, 4>::zeros();
    for (place, mark) in marks.iter().enumerate() {
        let seen = view.project(mark.known.vector()).ok_or_else(undetermined)?;
        by_marks.fixed_rows_mut::<2>(2 * place).copy_from(&(seen.by_unknowns * embed));
    }
    let of_marks = by_marks.try_inverse().ok_or_else(undetermined)?;
    let mut root = Square::zeros();
    root.fixed_columns_mut::<4>(0).copy_from(&(embed * of_marks));
    Ok(Fitted { view, root, squares: 0.0 })
}

/// How far each mark is from where the view puts it, in pixels.
pub(crate) fn residuals(view: &View, marks: &[Mark]) -> Vec<f64> {
    let far = |mark: &Mark| {
        view.project(mark.known.vector()).map_or(f64::INFINITY, |seen| (mark.at.vector() - seen.at).norm())
    };
    marks.iter().map(far).collect()
}

/// The larger semi-axis of a covariance: the worst direction's standard deviation.
pub(crate) fn worst_direction(covariance: &Matrix2<f64>) -> f64 {
    let (across, down, both) = (covariance[(0, 0)], covariance[(1, 1)], covariance[(0, 1)]);
    let (half, lean) = ((across + down) / 2.0, (across - down) / 2.0);
    (half + (lean * lean + both * both).sqrt()).max(0.0).sqrt()
}
