//! One file per thing a person does. A use case decides, and owns the transaction.

pub mod add_person;
pub mod change_password;
pub mod housekeeping;
pub mod knowledge;
pub mod retry_notice;
pub mod seed_demo;
pub mod send_trial;
pub mod sign_in;
pub mod sign_out;
