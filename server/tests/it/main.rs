//! What people would notice, tested at the boundary: one binary around [`test_shop::TestShop`].

#![allow(
    clippy::unwrap_used,
    clippy::print_stderr,
    clippy::large_stack_arrays,
    unreachable_pub,
    reason = "a test that cannot go on says so by stopping"
)]

mod form;
mod plain_booking;
mod test_shop;
mod workshop;

mod access;
mod album;
mod backup;
mod bench;
mod booking;
mod chase;
mod cli;
mod customer;
mod demo;
mod desk;
mod exchange;
mod figures;
mod hand_back;
mod health;
mod hostile;
mod knives;
mod line;
mod live;
mod migrations;
mod mishap;
mod move_to;
mod neighbours;
mod owner;
mod planning;
mod post;
mod privacy;
mod second_step;
mod security;
mod sheet;
mod smtp;
mod staff;
mod store;
mod tidy;
mod tls;
mod what_if;
