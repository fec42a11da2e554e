//! Plans of flights: launches of every kind, and what follows them.

const CIRCUIT: &str = "[[leg]]\nphase = \"turn\"\nbank_deg = -30\nturn_deg = 90\nspeed_mps = 25\n\
                       [[leg]]\nphase = \"crosswind\"\nfor_s = 20\n\
                       [[leg]]\nphase = \"turn\"\nbank_deg = -30\nturn_deg = 90\n\
                       [[leg]]\nphase = \"downwind\"\nuntil_height_m = 290\nspeed_mps = 26\n\
                       [[leg]]\nphase = \"turn\"\nbank_deg = -30\nturn_deg = 90\n\
                       [[leg]]\nphase = \"base\"\nuntil_height_m = 230\nairbrake_percent = 20\n\
                       [[leg]]\nphase = \"turn\"\nbank_deg = -30\nturn_deg = 90\n\
                       [[leg]]\nphase = \"final\"\nhow = \"land\"\nheading_deg = 240\n\
                       airbrake_percent = 55\nspeed_mps = 26\n";
const STANDS: &str = "[[leg]]\nphase = \"ground\"\nhow = \"wait\"\nfor_s = 70\n";

/// A plan: its name, the kinds of its launches, and its text.
pub struct Plan {
    pub name: &'static str,
    pub kinds: &'static [&'static str],
    pub text: String,
}

fn air(wind_mps: u32, gusts_mps: f64) -> String {
    format!("[wind]\nfrom_deg = 250\nspeed_mps = {wind_mps}\n[turbulence]\nrms_mps = {gusts_mps}\n")
}

fn winch(cable_m: u32, climb_deg: u32) -> String {
    format!(
        "[[leg]]\nphase = \"winch\"\nhow = \"winch\"\nspeed_mps = 28\ncable_m = {cable_m}\n\
         climb_deg = {climb_deg}\n\
         [[leg]]\nphase = \"release\"\nfor_s = 7\nspeed_mps = 24\nleast_load = 0.4\n"
    )
}

/// Two straight legs with a turn between, to a height.
fn tow(phase: &str, speed_mps: u32, climb_mps: f64, until_m: u32) -> String {
    let half_m = 140 + (until_m - 140) / 2;
    let leg = |more: &str| {
        format!(
            "[[leg]]\nphase = \"{phase}\"\nhow = \"aerotow\"\nspeed_mps = {speed_mps}\n\
             climb_mps = {climb_mps}\n{more}\n"
        )
    };
    leg(&format!("until_height_m = {half_m}"))
        + &leg(&format!("until_height_m = {until_m}\nbank_deg = 18\nheading_deg = 20"))
}

fn glide(phase: &str, for_s: u32, speed_mps: u32) -> String {
    format!("[[leg]]\nphase = \"{phase}\"\nfor_s = {for_s}\nspeed_mps = {speed_mps}\n")
}

fn turn(bank_deg: i32, turn_deg: u32) -> String {
    format!(
        "[[leg]]\nphase = \"turn\"\nbank_deg = {bank_deg}\nturn_deg = {turn_deg}\nspeed_mps = 25\n"
    )
}

/// Lift that is wide enough to be met wherever the launch ends.
fn thermal(strength_mps: f64, [east_m, north_m]: [i32; 2]) -> String {
    format!(
        "[[thermal]]\nname = \"wide\"\neast_m = {east_m}\nnorth_m = {north_m}\n\
         strength_mps = {strength_mps}\nradius_m = 2000\ntop_m = 4000\n"
    )
}

fn circles(for_s: u32, bank_deg: i32) -> String {
    format!(
        "[[leg]]\nphase = \"circles\"\nfor_s = {for_s}\nspeed_mps = 23\nbank_deg = {bank_deg}\n"
    )
}

/// All of them.
pub fn all() -> Vec<Plan> {
    let plan = |name, kinds, parts: &[String]| Plan { name, kinds, text: parts.concat() };
    let stands = STANDS.to_owned();
    let circuit = CIRCUIT.to_owned();
    vec![
        plan(
            "short winch",
            &["winch"],
            &[air(3, 0.2), stands.clone(), winch(620, 35), circuit.clone(), stands.clone()],
        ),
        plan(
            "long winch in wind",
            &["winch"],
            &[
                air(11, 0.6),
                stands.clone(),
                winch(1300, 42),
                glide("off", 30, 28),
                circuit.clone(),
                stands.clone(),
            ],
        ),
        plan(
            "winch into a thermal",
            &["winch"],
            &[
                air(4, 0.4),
                thermal(3.5, [-800, -500]),
                stands.clone(),
                winch(1000, 38),
                circles(240, 35),
                glide("away", 60, 30),
            ],
        ),
        plan(
            "tow and a glide",
            &["tow"],
            &[
                air(5, 0.5),
                stands.clone(),
                tow("aerotow", 33, 2.6, 760),
                turn(30, 90),
                glide("search", 200, 26),
                circles(60, 35),
                glide("on", 120, 30),
            ],
        ),
        plan(
            "tow into a thermal",
            &["tow"],
            &[
                air(5, 0.5),
                thermal(2.8, [-2400, 2000]),
                stands.clone(),
                tow("aerotow", 31, 2.4, 700),
                circles(300, 38),
                glide("on", 200, 32),
            ],
        ),
        plan(
            "slow tow into a thermal, straight",
            &["tow"],
            &[
                air(3, 0.8),
                thermal(2.2, [-2400, 2000]),
                stands.clone(),
                tow("aerotow", 29, 1.6, 640),
                glide("on", 12, 25),
                circles(300, 36),
                glide("on", 200, 30),
            ],
        ),
        plan(
            "low release",
            &["tow"],
            &[
                air(4, 0.4),
                stands.clone(),
                tow("aerotow", 32, 2.2, 330),
                turn(-35, 180),
                glide("back", 60, 27),
            ],
        ),
        plan(
            "rough tow",
            &["tow"],
            &[
                air(7, 1.3),
                stands.clone(),
                tow("aerotow", 34, 2.9, 900),
                turn(40, 120),
                glide("search", 300, 25),
            ],
        ),
        plan(
            "fast tow in rising air",
            &["tow"],
            &[
                air(2, 0.9),
                thermal(3.0, [-1500, -700]),
                stands.clone(),
                tow("aerotow", 38, 4.5, 900),
                glide("on", 100, 27),
                circles(200, 35),
            ],
        ),
        plan(
            "two winch launches",
            &["winch", "winch"],
            &[
                air(4, 0.3),
                stands.clone(),
                winch(700, 36),
                circuit.clone(),
                stands.clone(),
                stands.clone(),
                winch(900, 38),
                glide("off", 40, 24),
                circuit.clone(),
                stands.clone(),
            ],
        ),
        plan(
            "an engine of its own",
            &["engine"],
            &[
                air(4, 0.4),
                stands.clone(),
                tow("engine", 27, 2.0, 600),
                glide("search", 200, 25),
                circles(60, 35),
            ],
        ),
    ]
}
