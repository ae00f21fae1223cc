//! What the index can say of a recipe, checked against the recipe's machine form and what the program printed besides.

use std::fs;
use std::path::Path;

use regex::{Regex, RegexBuilder};
use serde_json::Value;

use super::book::Row;
use crate::workshop::{Run, makeready};

/// A check that failed, by the name of its column or as the index writes it.
pub struct Miss {
    pub check: String,
    pub why: String,
}

/// What came of a row.
struct Answer<'r> {
    row: &'r Row,
    shop: Value,
    run: Run,
    recipe: Option<Value>,
}

/// Compiles a row and returns what is not as expected.
pub fn misses(row: &Row, folder: &Path) -> Vec<Miss> {
    let answer = Answer::of(row, folder);
    let mut missed = Vec::new();
    let mut expect = |check: &str, verdict: Result<(), String>| {
        if let Err(why) = verdict {
            missed.push(Miss { check: check.to_owned(), why });
        }
    };
    expect("status", answer.status_is());
    if row.part.is_empty() && !row.any_of("exit").is_empty() {
        let code = answer.run.code.to_string();
        expect("exit", one_of(&code, &row.any_of("exit")));
    }
    let material = answer.decision("material").unwrap_or("none");
    if row.any_of("forbidden").contains(&material) {
        expect("forbidden", Err(material.to_owned()));
    }
    // A refusal that is accepted has no pose, material or support to judge; one that is not counts against all.
    let silent = answer.decisions().is_none() && answer.status_is().is_ok();
    if !silent {
        expect("pose", answer.lies_as_expected());
        expect("material", one_of(material, &row.any_of("materials")));
        expect("supports", one_of(answer.decision("supports").unwrap_or("none chosen"), &row.any_of("supports")));
    }
    for check in row.checks() {
        let of_the_page = ["says:", "never:", "asks:"].iter().any(|k| check.starts_with(k));
        if of_the_page || !silent {
            expect(check, answer.check(check));
        }
    }
    missed
}

/// An empty list expects nothing.
fn one_of(found: &str, wanted: &[&str]) -> Result<(), String> {
    expect(wanted.is_empty() || wanted.contains(&found), || format!("{found}, not {}", wanted.join(" or ")))
}

fn expect(holds: bool, why: impl FnOnce() -> String) -> Result<(), String> {
    if holds { Ok(()) } else { Err(why()) }
}

fn pattern(text: &str) -> Regex {
    RegexBuilder::new(text).case_insensitive(true).build().unwrap()
}

impl<'r> Answer<'r> {
    fn of(row: &'r Row, folder: &Path) -> Self {
        let spec = folder.join(&row.spec).canonicalize().unwrap();
        let home = spec.parent().unwrap();
        let shop = match row.shop.as_str() {
            "" => home.ancestors().map(|f| f.join("shop.yaml")).find(|f| f.exists()).unwrap(),
            named => folder.join(named).canonicalize().unwrap(),
        };
        let text = fs::read_to_string(&shop).unwrap();
        let (spec, named) = (spec.to_str().unwrap(), shop.to_str().unwrap());
        let run = makeready(home, &["compile", spec, "--print", "json", "--no-cache", "--shop", named]);
        let printed: Option<Value> = serde_json::from_str(&run.stdout).ok();
        let recipe = printed.map(|printed| match printed {
            Value::Array(all) => all.into_iter().find(|r| r["part"] == row.part.as_str()).unwrap(),
            one => one,
        });
        Self { row, shop: serde_yaml::from_str(&text).unwrap(), run, recipe }
    }

    fn recipe(&self) -> &Value {
        self.recipe.as_ref().unwrap_or(&Value::Null)
    }

    fn decisions(&self) -> Option<&Value> {
        self.recipe()["decisions"].is_object().then(|| &self.recipe()["decisions"])
    }

    fn decision(&self, name: &str) -> Option<&str> {
        self.decisions()?[name]["value"].as_str()
    }

    fn status_is(&self) -> Result<(), String> {
        let status = self.recipe()["status"].as_str().unwrap_or("error");
        one_of(status, &self.row.any_of("status")).map_err(|why| format!("{why}: {}", self.run.stderr.trim()))
    }

    /// All that is said, but for what the spec says itself.
    fn page(&self) -> String {
        let mut recipe = self.recipe().clone();
        if let Value::Object(fields) = &mut recipe {
            for own in ["purpose", "part", "inputs", "revision", "schema"] {
                fields.remove(own);
            }
        }
        format!("{recipe}{}", self.run.stderr)
    }

    fn setting(&self, name: &str) -> Option<f64> {
        let found = list(self.recipe(), "settings").iter().find(|s| s["name"] == name)?;
        found["value"]["value"].as_f64().or(found["value"].as_f64())
    }

    fn margins(&self, name: &str) -> Vec<&Value> {
        let is = |m: &&Value| m["what"].as_str().is_some_and(|w| w.to_lowercase().contains(&name.to_lowercase()));
        list(self.recipe(), "margins").iter().filter(is).collect()
    }

    /// The side on the bed lies within 10 degrees of one of those expected.
    fn lies_as_expected(&self) -> Result<(), String> {
        let wanted = self.row.any_of("pose_down");
        if wanted.is_empty() {
            return Ok(());
        }
        let chosen = self.decision("pose").ok_or("no pose")?;
        let of_list =
            list(self.recipe(), "poses").iter().find(|p| p["plain"] == chosen).and_then(|p| p["pose"].as_str());
        let down = match of_list {
            Some(up) => direction(up).map(|v| v.map(|c| -c)),
            None => direction(chosen),
        };
        let down = down.ok_or_else(|| format!("{chosen} names no direction"))?;
        let close = |words: &&str| {
            let v: Vec<f64> = words.split(' ').map(|c| c.parse().unwrap()).collect();
            v.iter().zip(down).map(|(a, b)| a * b).sum::<f64>() >= 10f64.to_radians().cos()
        };
        expect(wanted.iter().any(close), || format!("{chosen}: {down:?}"))
    }

    fn check(&self, check: &str) -> Result<(), String> {
        let (kind, rest) = check.split_once(':').unwrap_or((check, ""));
        match kind {
            "says" => expect(pattern(rest).is_match(&self.page()), || "not said".to_owned()),
            "never" => match pattern(rest).find(&self.page()) {
                Some(found) => Err(format!("said: {}", found.as_str())),
                None => Ok(()),
            },
            "asks" => self.asks(&pattern(rest)),
            "start" => within(self.recipe()["run"]["start"].as_f64(), rest),
            "perround" => within(self.recipe()["run"]["per_round"].as_f64(), rest),
            "printer" | "nozzle" => one_of(self.decision(kind).unwrap_or("none"), &rest.split('|').collect::<Vec<_>>()),
            "model" => self.is_modelled(rest),
            "margin" => self.holds(rest),
            "demand" => self.demands(rest),
            "taken" => self.says_what_it_takes(),
            "filament" => self.says_that_a_spool_is_short(),
            "heat<=48" | "heat<=60" | "heat>=68" => self.is_as_hot(check),
            flow if flow.starts_with("flow<=") => self.melts_at_most(&flow[6..]),
            _ => panic!("{}: no such check: {check}", self.row.id),
        }
    }

    fn asks(&self, wanted: &Regex) -> Result<(), String> {
        let open = list(self.recipe(), "assumptions").iter().filter(|a| a["question"] == true);
        let mut asked: Vec<String> = open.map(Value::to_string).collect();
        if self.recipe.is_none() {
            asked.push(self.run.stderr.clone());
        }
        expect(asked.iter().any(|a| wanted.is_match(a)), || format!("asked: {asked:?}"))
    }

    fn is_modelled(&self, rest: &str) -> Result<(), String> {
        let (fit, span) = rest.split_once(':').unwrap();
        let of = list(self.recipe(), "allowances").iter().filter(|a| a["fit"] == fit);
        let sizes: Vec<f64> = of.filter_map(|a| a["model_size"]["value"].as_f64()).collect();
        expect(!sizes.is_empty(), || "no size to model".to_owned())?;
        sizes.into_iter().try_for_each(|s| within(Some(s), span))
    }

    fn holds(&self, name: &str) -> Result<(), String> {
        let found = self.margins(name);
        expect(!found.is_empty(), || "no such margin".to_owned())?;
        let short = found.iter().find(|m| m["verdict"] != "holds" && m["verdict"] != "holds narrowly");
        short.map_or(Ok(()), |m| Err(m.to_string()))
    }

    fn demands(&self, rest: &str) -> Result<(), String> {
        let at = rest.find(['<', '>']).unwrap();
        let found = self.margins(&rest[..at]);
        expect(!found.is_empty(), || "no such margin".to_owned())?;
        found.iter().try_for_each(|m| compare(m["demand"]["value"].as_f64(), &rest[at..]))
    }

    fn is_as_hot(&self, check: &str) -> Result<(), String> {
        let heat = list(self.recipe(), "margins").iter().find(|m| m["what"] == "heat").ok_or("no margin of heat")?;
        compare(heat["demand"]["value"].as_f64(), &check["heat".len()..])
    }

    /// A bead is a rectangle with round sides.
    fn melts_at_most(&self, limit: &str) -> Result<(), String> {
        let of = |name: &str| self.setting(name).ok_or_else(|| format!("no {name}"));
        let (speed, layer, bead) = (of("speed")?, of("layer_height")?, of("bead_width")?);
        let flow = speed * ((bead - layer) * layer + std::f64::consts::FRAC_PI_4 * layer * layer);
        expect(flow <= limit.parse().unwrap(), || format!("{flow:.1} mm³/s"))
    }

    /// What sits in another machine is taken from it in so many words.
    fn says_what_it_takes(&self) -> Result<(), String> {
        let printer = self.decision("printer").ok_or("no printer")?;
        let detail = self.recipe()["decisions"]["material"]["detail"].as_str().unwrap_or_default();
        let said: String =
            ["checklist", "cautions", "decisions", "assumptions"].map(|of| self.recipe()[of].to_string()).concat();
        for holder in self.shop["printers"].as_array().unwrap() {
            let name = holder["name"].as_str().unwrap();
            let spool = holder["now"]["spool"].as_str().filter(|s| pattern(&format!(r"spool {s}\b")).is_match(detail));
            let nozzle = holder["now"]["nozzle"].as_str().filter(|n| self.decision("nozzle") == Some(n));
            let named = || pattern(&format!(r"\b(from|out of|off|in|on|fitted in|busy) {name}\b")).is_match(&said);
            if name != printer && (spool.is_some() || nozzle.is_some()) && !named() {
                return Err(format!("{spool:?} {nozzle:?} of {name} taken for {printer} without a word"));
            }
        }
        Ok(())
    }

    fn says_that_a_spool_is_short(&self) -> Result<(), String> {
        let detail = self.recipe()["decisions"]["material"]["detail"].as_str().unwrap_or_default();
        let Some(found) = pattern(r"([\d.]+) (k?)g left").captures(detail) else { return Ok(()) };
        let left: f64 = found[1].parse::<f64>().unwrap() * if found[2].is_empty() { 1.0 } else { 1000.0 };
        let total = &self.recipe()["run"]["mass_total"];
        let needed = total["value"].as_f64().unwrap() * if total["unit"] == "kg" { 1000.0 } else { 1.0 };
        let words = "does not reach|not enough|runs? out|second spool|another spool|next (one|spool)|too short";
        let warned = pattern(words).is_match(&self.page());
        expect(needed <= left || warned, || format!("{needed:.0} g of {left:.0} g"))
    }
}

fn list<'v>(of: &'v Value, name: &str) -> &'v [Value] {
    of[name].as_array().map_or(&[], Vec::as_slice)
}

fn within(value: Option<f64>, span: &str) -> Result<(), String> {
    let (low, high) = span.split_once("..").unwrap();
    let span = low.parse::<f64>().unwrap()..=high.parse::<f64>().unwrap();
    expect(value.is_some_and(|v| span.contains(&v)), || format!("{value:?} not in {span:?}"))
}

/// `<=48` or `>=2.4`.
fn compare(value: Option<f64>, bound: &str) -> Result<(), String> {
    let (sign, limit) = bound.split_at(2);
    let limit: f64 = limit.parse().unwrap();
    let holds = value.is_some_and(|v| if sign == "<=" { v <= limit } else { v >= limit });
    expect(holds, || format!("{value:?} is not {bound}"))
}

/// `+y leaning 45° toward +z and 16° toward -x` as a unit vector.
fn direction(words: &str) -> Option<[f64; 3]> {
    let axis = |name: &str| ["x", "y", "z"].iter().position(|a| *a == name).unwrap();
    let sign = |text: &str| if text == "+" { 1.0 } else { -1.0 };
    let first = Regex::new(r"^([+-])([xyz])").unwrap().captures(words)?;
    let mut v = [0.0; 3];
    v[axis(&first[2])] = sign(&first[1]);
    for lean in Regex::new(r"(\d+)° toward ([+-])([xyz])").unwrap().captures_iter(words) {
        let angle: f64 = lean[1].parse().unwrap();
        v[axis(&lean[3])] = angle.to_radians().tan() * sign(&lean[2]);
    }
    let norm = v.iter().map(|c| c * c).sum::<f64>().sqrt();
    Some(v.map(|c| c / norm))
}
