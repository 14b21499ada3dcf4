//! The filled shape: how much goes in, and how the sack lies, is pressed, hangs and stands, by tension-field theory.
//!
//! **Model.** The closed sack's surface is the surface of a box (geometry of the block-bottom sack, section 7) as a thin
//! sheet. Paper can't be stretched (principal stretches at most 1), may shorten freely in its plane (it wrinkles), and
//! resists bending so little that bending is left out. *Capacity* is the largest volume over all such shapes; *lying* is a
//! volume of heavy, frictionless fluid (aerated powder, nearly) on a flat floor, *pressed* the smallest gap of two
//! plates between which the volume fits. Of the bottoms, 6 to 10 layers of pasted paper, both limits are computed:
//! [`Bottoms::Stiff`] and [`Bottoms::Free`].
//!
//! **Method.** Triangles store energy only where a principal stretch exceeds its limit, so the largest volume is a
//! minimum of A k/2 sum max(0, lambda - 1)^2 - p V, found by Newton's method with closed-form second derivatives, a sparse
//! Cholesky factorisation whose pattern is analysed once per mesh, and a line search. Answers go from coarse meshes to
//! fine ones and from soft paper to stiff; the volume of paper that can't be stretched at all follows from one solve to
//! second order, V = V_k - 2 E/p (envelope theorem). What the facets of a mesh hold less than a round section is made up
//! for by a stretch limit slightly over 1, in closed form, so that coarse meshes are right on the average.
//!
//! The smooth branch is kept: the start is symmetric, mirror planes are built in, and every step carries a resistance to
//! motions that differ from vertex to vertex. Fine meshes have shapes with scallops of finite size that hold up to 0.3 %
//! more; they are not looked for.
//!
//! **Guarantees.** The volume over the largest stretch cubed is a proven lower bound of the capacity with free bottoms.
//! Every answer carries its [`Trust`]: largest stretch, lower bound, volume residual, change from the coarser mesh, and
//! whether it converged. No threads, no clock; the same input gives the same bits.
//!
//! **Where it ends.** Real paper stretches by 1 to 2 % before it breaks, seams and sleeves stiffen it, powder is not a
//! fluid and traps air: capacity is proved by filling trials. Hanging, the spout holds the valve bottom level; standing, the
//! sack is as limp as its paper and does not fall over (`stand`).
//!
//! | file | what is in it |
//! | --- | --- |
//! | `mesh` | the sack's surface in rectangles, coarse and fine |
//! | `surface` | any surface: triangles, mirrors, stiff plates |
//! | `ahead` | from the last answer to the next, to first order |
//! | `membrane` | energy, forces and stiffness of a triangle |
//! | `level` | a product that stands up to a level: what is below it, in closed form |
//! | `factor` | sparse Cholesky |
//! | `newton` | the iteration |
//! | `solve` | from a sack to its filled shapes |
//! | `stand` | hanging on the spout, standing on the plain bottom |
//! | `general` | any surface inflated or lying, for referees |
//! | `film` | the stage `fill`: from the flat sack to the filled one, frame by frame |
//! | `film_mesh` | the film's mesh, with the creases of both, and where it lies flat |
//! | `spout` | the spout that the film fills from |
//! | `contact` | where the flat sack's layers lie on each other |
//! | `result` | what comes back |
//! | `figures` | the same, as written to files and shown |
//! | `filled` | a filled sack as plain data, for checks, pallets and pages |
//! | `recall` | answers kept while a study runs, so that one broken off goes on where it was |
//! | `study` | that data from the solver, with the lengths that leave the headroom asked for |

mod ahead;
mod contact;
mod factor;
mod figures;
mod filled;
mod film;
mod film_mesh;
mod general;
mod level;
mod membrane;
mod mesh;
mod newton;
mod recall;
mod result;
mod solve;
mod spout;
mod stand;
mod study;
mod surface;

pub use figures::{FillFigures, Filling};
pub use filled::{Amount, AtRest, Capacities, Content, Filled, Headroom, HeadroomRange, Upright};
pub use film::{Film, FilmProgress, FilmSettings, FilmWatch, Frame, Phase, film_frame};
pub use general::{Inflated, inflate, lay, pour};
pub use mesh::{Panel, Sizes};
pub use recall::Recall;
pub use result::{Capacity, FillError, FilledMesh, Hanging, Lying, Pressed, Shape, Standing, Tightest, Trust};
pub use solve::{Bottoms, Detail, EMPTIEST, FULLEST, Progress, Question, Settings, Solver, Watch};
pub use spout::{SpoutPlace, SpoutSize};
pub use stand::LIMPEST;
pub(crate) use study::stacked_on;
pub use study::{Depth, StudySettings, study, study_on};
pub use surface::{Surface, SurfaceError};
