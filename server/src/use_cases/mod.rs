//! One file per thing a person does. A use case decides, and owns the transaction.

pub mod add_person;
pub mod bench;
pub mod change_password;
pub mod housekeeping;
pub mod check_piece;
pub mod confirm_setup;
pub mod finish_operation;
pub mod knowledge;
pub mod pin_operation;
mod ready;
pub mod retry_notice;
pub mod seed_demo;
pub mod send_trial;
pub mod sign_in;
pub mod sign_out;
pub mod show_plan;
pub mod show_run;
pub mod start_operation;
pub mod stop_operation;
