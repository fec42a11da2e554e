//! The integration suites: the product from outside, against figures from outside.

mod demo_flight;
