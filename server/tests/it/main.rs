//! What people would notice, tested at the boundary: one binary around [`test_shop::TestShop`].

mod test_shop;

mod access;
mod backup;
mod cli;
mod health;
mod live;
mod migrations;
mod post;
mod security;
mod smtp;
mod staff;
mod store;
mod tidy;
