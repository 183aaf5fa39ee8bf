//! One file per page. A page takes what it shows as arguments and renders it; it decides nothing.

pub mod bench;
pub mod book;
pub mod desk;
pub mod home;
pub mod knives;
pub mod mine;
pub mod plan;
pub mod post;
pub mod privacy;
pub mod problem;
pub mod shop;
pub mod sign_in;
pub mod slip;
pub mod style;
pub mod talk;
pub mod visit;
