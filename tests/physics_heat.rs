//! The heat figures against published numbers, closed forms and finer models.

mod analytic;
mod belt;
mod direction;
mod draws;
mod figures;
mod fine;
mod published;
mod worst;
