//! The heat figures against published numbers, closed forms and finer models.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "physics_heat/analytic.rs"]
mod analytic;
#[path = "physics_heat/direction.rs"]
mod direction;
#[path = "physics_heat/draws.rs"]
mod draws;
#[path = "physics_heat/figures.rs"]
mod figures;
#[path = "physics_heat/fine.rs"]
mod fine;
#[path = "physics_heat/published.rs"]
mod published;
#[path = "physics_heat/worst.rs"]
mod worst;
