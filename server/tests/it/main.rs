//! What people would notice, tested at the boundary: one binary around [`test_shop::TestShop`].

mod test_shop;

mod health;
