//! Schema changes, one small file each.
