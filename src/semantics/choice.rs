//! What `pin` and `forbid` speak of: a decision or a setting, and the choice.

use super::arguments::Arguments;
use super::checker::{Checker, Reported};
use super::evaluate::Constant;
use super::form::Measure;
use super::spec::{ChoiceValue, Decision, Direction, Where};
use super::values::{Value, Values};
use super::vocabulary::{DECISIONS, SETTINGS};
use crate::diag::{Diagnostic, nearest};
use crate::quantity::{Angle, Area, Dimension, Length, Quantity, Speed, Temperature, TemperatureDifference};
use crate::syntax::tree::{Expr, ExprKind};

/// A bore beyond these is a slip; the shop knows the nozzles there are.
const BORE: Measure = Measure::between(Dimension::LENGTH, "mm", 0.05, 5.0);

/// Settings that cannot be nothing; a brim, a gap, a retraction can.
const NEVER_ZERO: &[&str] = &["layer_height", "first_height", "bead_width", "wall_beads"];

fn decision(word: &str) -> Option<Decision> {
    Some(match word {
        "printer" => Decision::Printer,
        "material" => Decision::Material,
        "spool" => Decision::Spool,
        "nozzle" => Decision::Nozzle,
        "surface" => Decision::Surface,
        "agent" => Decision::Agent,
        "pose" => Decision::Pose,
        "supports" => Decision::Supports,
        "build-up" => Decision::BuildUp,
        _ => return None,
    })
}

/// Returns the word that names a decision.
pub(crate) fn decision_word(decision: Decision, setting: Option<&str>) -> &str {
    match decision {
        Decision::Printer => "printer",
        Decision::Material => "material",
        Decision::Spool => "spool",
        Decision::Nozzle => "nozzle",
        Decision::Surface => "surface",
        Decision::Agent => "agent",
        Decision::Pose => "pose",
        Decision::Supports => "supports",
        Decision::BuildUp => "build-up",
        Decision::Setting => setting.unwrap_or("setting"),
    }
}

impl Checker<'_> {
    pub(crate) fn read_decision(&mut self, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let Some(expr) = args.next() else { return Ok(Value::Seen) };
        let word = expr.as_word().unwrap_or_default();
        if let Some(decision) = decision(word) {
            args.keyword = format!("{} {word}", args.keyword);
            return Ok(Value::Decision(decision, None));
        }
        if let Some((name, dimension, unit)) = SETTINGS.iter().find(|(name, ..)| *name == word) {
            if args.keyword == "forbid" {
                return self.refuse_forbidden_setting(name, *dimension, unit, expr, args);
            }
            args.keyword = format!("{} {word}", args.keyword);
            let [usual, _] = usual_values(*dimension, unit);
            args.example = format!("{} {usual} because \"...\"", args.keyword);
            return Ok(Value::Decision(Decision::Setting, Some((*name).to_owned())));
        }
        if let Some(hint) = self.suggest_decision(word, args) {
            let message = format!("`{}` speaks of a decision or a setting, found {}", args.keyword, expr.noun());
            return self.refuse(Diagnostic::error("choice/decision", expr.span, message).hint(hint));
        }
        let message = format!("`{}` speaks of a decision or a setting, found {}", args.keyword, expr.noun());
        let names = DECISIONS.iter().copied().chain(SETTINGS.iter().map(|(name, ..)| *name));
        let near = nearest(word, names);
        if near.is_none() && !word.is_empty() && word != "because" {
            args.keyword = format!("{} {word}", args.keyword);
            return Ok(Value::Decision(Decision::Setting, Some(word.to_owned())));
        }
        let hint = match near {
            Some(near) if !word.is_empty() => format!("did you mean `{near}`?"),
            _ => format!(
                "decisions are {}; settings {}",
                DECISIONS.join(", "),
                SETTINGS.iter().map(|(name, ..)| *name).collect::<Vec<_>>().join(", ")
            ),
        };
        self.refuse(Diagnostic::error("choice/decision", expr.span, message).hint(hint))
    }

    /// Settings are computed: there is no list of values from which one could be struck, and a neighbouring value a
    /// hair away would obey the letter. What is wanted can only be said by its value.
    fn refuse_forbidden_setting(
        &mut self,
        name: &str,
        dimension: Dimension,
        unit: &str,
        expr: &Expr,
        args: &Arguments<'_>,
    ) -> Result<Value, Reported> {
        let [usual, other] = usual_values(dimension, unit);
        let forbidden = args.peek().map(|e| self.sources.text(e.span)).unwrap_or_default();
        let plain = |text: &str| text.replace(' ', "");
        let value = if plain(forbidden) == plain(&usual) { other } else { usual };
        let message = format!("`{name}` is computed, not chosen from a list: no value of it can be forbidden");
        let hint = format!("say what it is to be: `pin {name} {value} because \"...\"`");
        self.refuse(Diagnostic::error("choice/forbidden-setting", expr.span, message).hint(hint))
    }

    /// Returns what to write for `layer`, `layer height`, `temperature`, `colour` and a material without its decision.
    fn suggest_decision(&self, word: &str, args: &Arguments<'_>) -> Option<String> {
        let next = args.peek().and_then(Expr::as_word);
        let joined = next.map(|next| format!("{word}_{next}"));
        if let Some((name, ..)) = SETTINGS.iter().find(|(name, ..)| Some(*name) == joined.as_deref()) {
            // A setting can only be pinned.
            return Some(format!("write `pin {name}`, in one word"));
        }
        if word == "colour" || word == "color" {
            return Some(
                "write `service { colour \"red\" }`: the colour is of the service, not of the printing".to_owned(),
            );
        }
        let ending: Vec<String> = SETTINGS
            .iter()
            .filter(|(name, ..)| name.split_once('_').is_some_and(|(_, rest)| rest == word))
            .map(|(name, ..)| format!("`{name}`"))
            .collect();
        let beginning: Vec<&str> = SETTINGS
            .iter()
            .map(|(name, ..)| *name)
            .filter(|name| name.split_once('_').is_some_and(|(first, _)| first == word))
            .collect();
        if let [name] = beginning.as_slice() {
            return Some(format!("write `pin {name}`: that is the setting's whole name"));
        }
        if ending.len() > 1 {
            return Some(format!("which one: {}?", ending.join(", ")));
        }
        let alone = next == Some("because") && word.starts_with(|c: char| c.is_ascii_uppercase());
        alone.then(|| format!("write `{} material \"{word}\" because \"...\"`", args.keyword))
    }

    pub(crate) fn read_choice(&mut self, args: &mut Arguments<'_>, values: &Values) -> Result<Value, Reported> {
        let Some(Value::Decision(decision, setting)) = values.get("decision") else { return Err(Reported) };
        if args.phrase("because") > 0 {
            let message = format!("`{}` needs a choice before its reason", args.keyword);
            return self.refuse(
                Diagnostic::error("argument/missing", args.last(), message).hint(format!("write `{}`", args.example)),
            );
        }
        let value = match decision {
            Decision::Pose => self.read_pose(args)?,
            Decision::Nozzle => self.read_nozzle(args)?,
            Decision::Setting => self.read_setting(setting.as_deref().unwrap_or_default(), args)?,
            _ => self.read_named(args)?,
        };
        Ok(Value::Choice(value))
    }

    fn read_named(&mut self, args: &mut Arguments<'_>) -> Result<ChoiceValue, Reported> {
        if args.peek().and_then(Expr::as_word).is_some_and(|w| self.names.contains(w)) {
            return match self.read_term(args)? {
                Value::Text(name) => Ok(ChoiceValue::Named(name)),
                _ => Err(Reported),
            };
        }
        let Some(expr) = args.next() else { return Err(Reported) };
        match expr.as_text().or(expr.as_word()) {
            Some(name) if !name.trim().is_empty() => Ok(ChoiceValue::Named(name.to_owned())),
            _ => {
                let message = format!("expected a name for `{}`, found {}", args.keyword, expr.noun());
                let hint = format!("write `{} \"name\" because \"...\"`", args.keyword);
                self.refuse(Diagnostic::error("choice/name", expr.span, message).hint(hint))
            }
        }
    }

    fn read_nozzle(&mut self, args: &mut Arguments<'_>) -> Result<ChoiceValue, Reported> {
        let named =
            args.peek().is_some_and(|e| e.as_text().is_some() || e.as_word().is_some_and(|w| !self.names.contains(w)));
        if named {
            return self.read_named(args);
        }
        match self.read_measure(&BORE, args)? {
            Value::Quantity(q) => Length::try_from(q).map(ChoiceValue::Length).map_err(|_| Reported),
            _ => Err(Reported),
        }
    }

    /// `pose up +z`, `pose on face "plate"`, `pose +z`; and as recipes say it: `-z down`, `+z up`, `face "plate" down`.
    fn read_pose(&mut self, args: &mut Arguments<'_>) -> Result<ChoiceValue, Reported> {
        let flat = args.phrase("flat");
        args.skip(flat);
        let on = args.phrase("on");
        args.skip(on);
        if args.phrase("face") > 0 {
            let Value::Where(Where::Face(name)) = self.read_where(args)? else { return Err(Reported) };
            let down = args.phrase("down");
            args.skip(down);
            return Ok(ChoiceValue::OnFace(name));
        }
        if let Some(text) = args.peek().and_then(Expr::as_text) {
            // As a recipe names a pose that leans; whether it is one of the part's is seen when the part is known.
            if text.contains(" down") && ["+x", "-x", "+y", "-y", "+z", "-z"].iter().any(|axis| text.starts_with(axis))
            {
                let name = text.to_owned();
                args.next();
                return Ok(ChoiceValue::Named(name));
            }
            return self.refuse_quoted_pose(text, args);
        }
        let up = args.phrase("up");
        args.skip(up);
        let Direction(direction) = self.read_direction(args)?;
        if up > 0 {
            return Ok(ChoiceValue::Up(Direction(direction)));
        }
        let (up, down) = (args.phrase("up"), args.phrase("down"));
        args.skip(up.max(down));
        Ok(ChoiceValue::Up(Direction(if down > 0 { direction.map(|c| -c) } else { direction })))
    }

    fn refuse_quoted_pose(&mut self, text: &str, args: &Arguments<'_>) -> Result<ChoiceValue, Reported> {
        let span = args.peek().map_or(args.last(), |e| e.span);
        let message = format!("expected a pose for `{}`, found a text", args.keyword);
        let bare = ["+x", "-x", "+y", "-y", "+z", "-z"].iter().any(|axis| text.trim_start().starts_with(axis));
        let hint = if bare {
            format!("write `{} {}`, without quotes", args.keyword, text.trim())
        } else {
            format!("write `{0} up +z`, or `{0} on face \"{text}\"` for a face of that name", args.keyword)
        };
        self.refuse(Diagnostic::error("choice/pose", span, message).hint(hint))
    }

    fn read_setting(&mut self, name: &str, args: &mut Arguments<'_>) -> Result<ChoiceValue, Reported> {
        let Some((_, dimension, unit)) = SETTINGS.iter().find(|(n, ..)| *n == name) else {
            return self.read_shop_setting(args);
        };
        if *dimension == Dimension::NONE {
            return self.read_plain_setting(name, unit, args);
        }
        let measure = match *dimension {
            Dimension::TEMPERATURE => Measure::between(*dimension, unit, -50.0, 600.0),
            Dimension::ANGLE => Measure::between(*dimension, unit, 0.0, 90.0),
            Dimension::SPEED => Measure::positive(*dimension, unit, 2_000.0),
            _ if NEVER_ZERO.contains(&name) => Measure::positive(*dimension, unit, 100.0),
            _ => Measure::between(*dimension, unit, 0.0, 100.0),
        };
        match self.read_measure(&measure, args)? {
            Value::Quantity(q) => setting_value(q).ok_or(Reported),
            _ => Err(Reported),
        }
    }

    /// A setting this phase does not know: a quantity of any kind that can be pinned.
    fn read_shop_setting(&mut self, args: &mut Arguments<'_>) -> Result<ChoiceValue, Reported> {
        let Some(expr) = args.next() else { return Err(Reported) };
        if let ExprKind::Name(_) | ExprKind::Text(_) = &expr.kind
            && !expr.as_word().is_some_and(|w| self.names.contains(w))
        {
            let message = format!("expected a quantity for `{}`, found {}", args.keyword, expr.noun());
            let hint = format!("decisions are {}; anything else is a setting and has a quantity", DECISIONS.join(", "));
            return self.refuse(Diagnostic::error("choice/setting", expr.span, message).hint(hint));
        }
        let found = self.evaluate(expr).ok_or(Reported)?;
        let value = match &found {
            Constant::Quantity(q) if q.dimension == Dimension::NONE => Some(ChoiceValue::Number(q.si)),
            Constant::Quantity(q) => setting_value(*q),
            _ => None,
        };
        value.map_or_else(
            || {
                let message = format!("`{}` cannot be {}", args.keyword, found.noun());
                let hint = "a setting is a number, a length, a temperature, a speed, an angle or an area";
                self.refuse(Diagnostic::error("choice/setting", expr.span, message).hint(hint))
            },
            Ok,
        )
    }

    fn read_plain_setting(
        &mut self,
        name: &str,
        unit: &str,
        args: &mut Arguments<'_>,
    ) -> Result<ChoiceValue, Reported> {
        let share = unit == "%";
        let Some(expr) = args.peek() else { return Err(Reported) };
        let written = self.sources.text(expr.span).to_owned();
        let value = match self.evaluate(expr).ok_or(Reported)? {
            Constant::Quantity(q) if q.dimension == Dimension::NONE => q.si,
            other => return self.plain_setting_fault(name, &other.noun(), share, expr, args),
        };
        let bare = matches!(&expr.kind, ExprKind::Number { unit: None, .. });
        if share && bare && value > 1.0 {
            let message = format!("expected a percentage for `{name}`, found a bare number");
            return self.refuse(Diagnostic::error("unit/missing", expr.span, message).write(format!("{written} %")));
        }
        let least = if NEVER_ZERO.contains(&name) { 1.0 } else { 0.0 };
        let sound =
            if share { (0.0..=1.0).contains(&value) } else { value >= least && value.fract() == 0.0 && value <= 1e4 };
        if !sound {
            let whole = if least > 0.0 { "a whole number, 1 or more" } else { "a whole number" };
            let wanted = if share { "from 0 % to 100 %" } else { whole };
            let message = format!("`{name}` must be {wanted}");
            let hint = format!("write `{}`", args.example);
            return self.refuse(Diagnostic::error("choice/setting", expr.span, message).hint(hint));
        }
        args.next();
        Ok(ChoiceValue::Number(value))
    }

    fn plain_setting_fault(
        &mut self,
        name: &str,
        noun: &str,
        share: bool,
        expr: &Expr,
        args: &Arguments<'_>,
    ) -> Result<ChoiceValue, Reported> {
        let wanted = if share { "a percentage" } else { "a whole number" };
        let message = format!("expected {wanted} for `{name}`, found {noun}");
        let hint = format!("write `{}`", args.example);
        self.refuse(Diagnostic::error("unit/unexpected", expr.span, message).hint(hint))
    }
}

/// Two values such as people give a setting, for hints: the usual one, and another for where that is not wanted.
fn usual_values(dimension: Dimension, unit: &str) -> [String; 2] {
    let numbers = match dimension {
        Dimension::TEMPERATURE => ["240", "230"],
        Dimension::ANGLE => ["45", "50"],
        Dimension::SPEED => ["60", "50"],
        Dimension::LENGTH => ["0.2", "0.3"],
        _ if unit == "%" => ["40", "60"],
        _ => ["4", "3"],
    };
    numbers.map(|number| format!("{number} {unit}").trim_end().to_owned())
}

fn setting_value(q: Quantity) -> Option<ChoiceValue> {
    Some(match q.dimension {
        Dimension::LENGTH => ChoiceValue::Length(Length::try_from(q).ok()?),
        Dimension::TEMPERATURE => ChoiceValue::Temperature(Temperature::try_from(q).ok()?),
        Dimension::ANGLE => ChoiceValue::Angle(Angle::try_from(q).ok()?),
        Dimension::SPEED => ChoiceValue::Speed(Speed::try_from(q).ok()?),
        Dimension::AREA => ChoiceValue::Area(Area::try_from(q).ok()?),
        Dimension::TEMPERATURE_DIFFERENCE => {
            ChoiceValue::TemperatureDifference(TemperatureDifference::try_from(q).ok()?)
        }
        _ => return None,
    })
}
