//! The page: the template of `sim/templates` filled in. Everything in it that comes from outside
//! is escaped by the template; what is marked safe is our own.

use super::flown::Flown;
use super::player;
use super::request::Request;
use super::together::{Compared, compared, draw};
use super::view::{View, inline};
use crate::error::{Error, Result};
use askama::Template;

/// What the page is made of.
#[derive(Template)]
#[template(path = "flight.html")]
struct Page {
    title: String,
    flights: Vec<View>,
    compared: Vec<Compared>,
    together: String,
    style: &'static str,
    script: String,
    core: String,
}

/// The page of one flight or more.
///
/// # Errors
/// More samples than a page can hold.
pub fn html(request: &Request, flights: &[Flown]) -> Result<String> {
    let views = flights.iter().enumerate();
    let views: Vec<View> =
        views.map(|(place, flown)| View::of(request, flown, place)).collect::<Result<_>>()?;
    let several = flights.len() > 1;
    let titles: Vec<&str> = views.iter().map(|view| view.title.as_str()).collect();
    let units = request.instrument.units;
    let page = Page {
        title: titles.join(" and "),
        compared: if several { compared(flights, units) } else { Vec::new() },
        together: if several { inline(&draw(flights, units)) } else { String::new() },
        style: include_str!("script/style.css"),
        script: script(),
        core: player::core(),
        flights: views,
    };
    page.render().map_err(|error| Error::Usage(format!("the page cannot be made: {error}")))
}

/// The scripts as one, with the audio thread's inside it as text.
fn script() -> String {
    let worklet = include_str!("script/worklet.js");
    let worklet = serde_json::to_string(worklet).unwrap_or_default();
    let parts = [
        format!("const WORKLET = {worklet};"),
        include_str!("script/sound.js").into(),
        include_str!("script/chart.js").into(),
        include_str!("script/page.js").into(),
    ];
    format!("(() => {{\n\"use strict\";\n{}\n}})();", parts.join("\n"))
}
