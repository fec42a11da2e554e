//! The integration suites: the product from outside, against figures from outside.

#![allow(clippy::disallowed_methods, reason = "tests compare with std and need no equal last bit")]

mod abx;
mod air;
mod by_ear;
mod centring;
mod command_line;
mod corpus;
mod crash;
#[cfg(unix)]
mod device;
mod docs;
mod energy;
mod energy_cover;
mod faults;
mod flight_account;
mod flight_page;
mod fly;
mod house;
mod inertial;
mod inertial_columns;
mod inspect;
mod inspect_motion;
mod layers;
mod listen;
mod loggers;
mod memory_flash;
mod names;
mod netto;
mod onboard;
mod pilots;
mod properties;
mod published;
mod quickness;
mod real_flights;
mod real_inertial;
mod recorder;
mod response;
mod rough_air;
mod segments;
mod soak;
mod sound;
mod steps;
mod streams;
mod support;
mod tone;
mod trust;
mod tune;
mod tuning;
mod usage;
#[cfg(unix)]
mod watch;
