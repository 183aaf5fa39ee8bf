//! The bench plan.
