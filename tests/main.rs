//! The integration suites: the product from outside, against figures from outside.

mod air;
mod by_ear;
mod command_line;
mod demo_flight;
#[cfg(unix)]
mod device;
mod energy;
mod fly;
mod house;
mod inspect;
mod listen;
mod netto;
mod published;
mod quickness;
mod real_flights;
mod response;
mod sound;
mod streams;
mod support;
mod tone;
mod trust;
