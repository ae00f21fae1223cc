//! The one list of functions that rules may call and `explain` can show with its numbers.

use super::{Checked, SourceNote};
use crate::quantity::{Dimension, Quantity};
use std::sync::OnceLock;

/// One named input of a [`Function`].
#[derive(Debug, Clone, Copy)]
pub struct Parameter {
    /// Its name in the reference.
    pub name: &'static str,
    /// What it is given in.
    pub dimension: Dimension,
    /// What it means.
    pub help: &'static str,
}

/// A registered computation.
#[derive(Debug, Clone, Copy)]
pub struct Function {
    /// The name rules call it by, in snake case.
    pub name: &'static str,
    /// What it is given, in order.
    pub inputs: &'static [Parameter],
    /// What it returns.
    pub output: Dimension,
    /// The formula as a person would write it, with its range of validity where that is short.
    pub formula: &'static str,
    /// Where the formula is from.
    pub source: SourceNote,
    /// One line for hover and reference.
    pub help: &'static str,
    /// Arguments that make sense together, as a person would write them; documentation and tests run them.
    pub example: &'static [&'static str],
    /// The bare computation; prefer [`Function::call`], which checks its arguments.
    pub evaluate: fn(&[Quantity]) -> Checked<Quantity>,
}

/// Declares an input; keeps the tables in the modules to one line each.
pub(super) const fn input(name: &'static str, dimension: Dimension, help: &'static str) -> Parameter {
    Parameter { name, dimension, help }
}

/// Declares an input that is a plain number.
pub(super) const fn number(name: &'static str, help: &'static str) -> Parameter {
    Parameter { name, dimension: Dimension::NONE, help }
}

/// Reads argument `i` as the typed quantity the computation wants.
pub(super) fn get<T: TryFrom<Quantity, Error = Dimension>>(args: &[Quantity], i: usize) -> Checked<T> {
    let value = args.get(i).ok_or_else(|| format!("argument {} is missing", i + 1))?;
    T::try_from(*value).map_err(|d| format!("argument {} is {}, another dimension than expected", i + 1, d.name()))
}

/// Wraps a typed function of as many arguments as indices given.
macro_rules! apply {
    ($f:expr; $($i:literal)+) => {
        |args| Ok($crate::quantity::Quantity::from($f($($crate::physics::registry::get(args, $i)?),+)?))
    };
}
pub(super) use apply;

/// Returns every registered function, sorted by name.
pub fn functions() -> &'static [Function] {
    static ALL: OnceLock<Vec<Function>> = OnceLock::new();
    ALL.get_or_init(|| {
        let mut all: Vec<Function> = TABLES.iter().flat_map(|t| t.iter().copied()).collect();
        all.sort_by_key(|f| f.name);
        all
    })
}

const TABLES: &[&[Function]] = &[
    super::bead::FUNCTIONS,
    super::beam::FUNCTIONS,
    super::cooling::FUNCTIONS,
    super::cost::FUNCTIONS,
    super::heat::FUNCTIONS,
    super::overhang::FUNCTIONS,
    super::packing::FUNCTIONS,
    super::press_fit::FUNCTIONS,
    super::pressure::FUNCTIONS,
    super::print_time::FUNCTIONS,
    super::section::FUNCTIONS,
    super::snap::FUNCTIONS,
    super::statistics::FUNCTIONS,
    super::strength::FUNCTIONS,
    super::stress_concentration::FUNCTIONS,
    super::sustained::FUNCTIONS,
    super::thermal::FUNCTIONS,
    super::warp::FUNCTIONS,
    super::weld::FUNCTIONS,
];

/// Returns the function of that exact name.
pub fn function(name: &str) -> Option<&'static Function> {
    let all = functions();
    all.binary_search_by(|f| f.name.cmp(name)).ok().and_then(|i| all.get(i))
}

impl Function {
    /// Checks count and dimensions, computes, and lets only a finite result of the declared dimension pass.
    pub fn call(&self, args: &[Quantity]) -> Checked<Quantity> {
        self.check(args)?;
        let result =
            (self.evaluate)(args).and_then(super::sound).map_err(|reason| format!("`{}`: {reason}", self.name))?;
        if result.dimension == self.output {
            Ok(result)
        } else {
            Err(format!("`{}` gave {} where it declares {}", self.name, result.dimension.name(), self.output.name()))
        }
    }

    fn check(&self, args: &[Quantity]) -> Checked<()> {
        if args.len() != self.inputs.len() {
            let (wanted, found) = (self.inputs.len(), args.len());
            let plural = if wanted == 1 { "" } else { "s" };
            return Err(format!(
                "`{}` takes {wanted} argument{plural} ({}), found {found}",
                self.name,
                self.parameter_names()
            ));
        }
        for (parameter, arg) in self.inputs.iter().zip(args) {
            if arg.dimension != parameter.dimension {
                return Err(format!(
                    "expected {} for `{}` of `{}`, found {}",
                    parameter.dimension.name(),
                    parameter.name,
                    self.name,
                    arg.dimension.name()
                ));
            }
            super::sound(*arg).map_err(|_| format!("`{}` of `{}` is not a number", parameter.name, self.name))?;
        }
        Ok(())
    }

    fn parameter_names(&self) -> String {
        self.inputs.iter().map(|p| p.name).collect::<Vec<_>>().join(", ")
    }

    /// Returns `name(input, input, ...)`, for messages and the reference.
    pub fn signature(&self) -> String {
        format!("{}({})", self.name, self.parameter_names())
    }

    /// Returns the working as one line: the call with its numbers put in, the result (or why there is none), the formula.
    pub fn working(&self, args: &[Quantity]) -> String {
        let given: Vec<String> = self
            .inputs
            .iter()
            .map(|p| p.name)
            .chain(std::iter::repeat("?"))
            .zip(args)
            .map(|(name, value)| format!("{name} = {value}"))
            .collect();
        let call = format!("{}({})", self.name, given.join(", "));
        match self.call(args) {
            Ok(result) => format!("{call} = {result} by {}", self.formula),
            Err(reason) => format!("{call} has no value: {reason}"),
        }
    }

    /// Returns the registered example as quantities; an unreadable one is our own mistake and is said so.
    pub fn example_arguments(&self) -> Checked<Vec<Quantity>> {
        self.example
            .iter()
            .map(|text| Quantity::parse(text).map_err(|e| format!("the example of `{}`: {e}", self.name)))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::trim_number;

    const KINDS: [&str; 7] = ["standard", "handbook", "paper", "library", "common-practice", "from-memory", "computed"];

    #[test]
    fn names_are_unique_sorted_and_found() {
        let all = functions();
        assert!(all.len() > 60, "{} functions", all.len());
        for pair in all.windows(2) {
            assert!(pair[0].name < pair[1].name, "{} and {}", pair[0].name, pair[1].name);
        }
        for f in all {
            assert_eq!(function(f.name).map(|g| g.formula), Some(f.formula));
            assert!(f.name.chars().all(|c| c.is_ascii_lowercase() || c == '_'), "{}", f.name);
        }
        assert!(function("no_such_function").is_none());
    }

    #[test]
    fn every_function_is_documented_and_sourced() {
        for f in functions() {
            assert!(KINDS.contains(&f.source.kind), "{}: kind {}", f.name, f.source.kind);
            assert!(f.source.citation.len() > 8, "{}: citation", f.name);
            assert!(f.help.len() > 10 && !f.help.ends_with('.'), "{}: help", f.name);
            assert!(!f.formula.is_empty(), "{}: formula", f.name);
            for (i, p) in f.inputs.iter().enumerate() {
                assert!(!p.help.is_empty(), "{}: help of {}", f.name, p.name);
                assert!(f.inputs[..i].iter().all(|q| q.name != p.name), "{}: {} twice", f.name, p.name);
            }
        }
    }

    #[test]
    fn every_example_gives_a_finite_result_of_the_declared_dimension() {
        for f in functions() {
            let args = f.example_arguments().unwrap();
            let result = f.call(&args).unwrap_or_else(|e| panic!("{}: {e}", f.name));
            assert!(result.si.is_finite(), "{}", f.name);
            assert_eq!(result.dimension, f.output, "{}", f.name);
        }
    }

    /// A practitioner reads the working: every dimension used prints in a shop unit that can be typed back.
    #[test]
    fn every_quantity_of_an_example_reads_back() {
        for f in functions() {
            let args = f.example_arguments().unwrap();
            for value in args.iter().copied().chain([f.call(&args).unwrap()]) {
                if value.dimension == Dimension::MONEY || value.dimension == Dimension::NONE {
                    continue;
                }
                let back = Quantity::parse(&value.to_string()).unwrap_or_else(|e| panic!("{}: {value}: {e}", f.name));
                assert_eq!(back.dimension, value.dimension, "{}: {value}", f.name);
            }
        }
    }

    /// Each input is really read: nudging it moves the result, at the example or at one of a few points about it.
    #[test]
    fn every_input_matters() {
        for f in functions() {
            let args = f.example_arguments().unwrap();
            let base = f.call(&args).unwrap();
            for (i, p) in f.inputs.iter().enumerate() {
                let moved = [0.5, 0.65, 0.8, 0.97, 1.01, 1.03, 1.25, 1.5, 2.0, 3.0, 0.2].iter().any(|factor| {
                    let mut other = args.clone();
                    let size = if other[i].si == 0.0 { 0.003 } else { other[i].si };
                    other[i].si = if p.dimension.point { size + 60.0 * (factor - 1.0) } else { size * factor };
                    f.call(&other).is_ok_and(|r| r.si != base.si)
                });
                assert!(moved, "{}: {} has no effect", f.name, p.name);
            }
        }
    }

    #[test]
    fn wrong_calls_say_what_is_wrong() {
        let f = function("bead_area").unwrap();
        let mm = |v: f64| Quantity::new(v * 1e-3, Dimension::LENGTH);
        assert_eq!(f.call(&[mm(0.4)]).unwrap_err(), "`bead_area` takes 2 arguments (width, height), found 1");
        let wrong = f.call(&[mm(0.4), Quantity::number(2.0)]).unwrap_err();
        assert_eq!(wrong, "expected a length for `height` of `bead_area`, found a plain number");
        assert!(f.call(&[mm(f64::NAN), mm(0.2)]).unwrap_err().contains("`width` of `bead_area` is not a number"));
        assert!(f.call(&[mm(0.1), mm(0.2)]).unwrap_err().starts_with("`bead_area`: expected a layer height"));
    }

    #[test]
    fn the_working_shows_numbers_result_and_formula() {
        let f = function("sol_air_temperature_under_sky").unwrap();
        let args = f.example_arguments().unwrap();
        let text = f.working(&args);
        assert!(!text.contains('^'), "base units are for nobody: {text}");
        assert!(
            text.starts_with("sol_air_temperature_under_sky(air = 35 °C, irradiance = 1000 W/m², absorptance = 0.9, "),
            "{text}"
        );
        assert!(text.ends_with(" = 84.6 °C by te = to + alpha E / h - epsilon dR / h"), "{text}");
        assert!(f.working(&args[..1]).contains("has no value: `sol_air_temperature_under_sky` takes 6 arguments"));
    }

    /// Hostile numbers: whatever comes in, the answer is a finite quantity or a reason, and it comes soon.
    #[test]
    fn no_number_makes_a_function_panic_or_lie() {
        let extremes = [
            0.0,
            -0.0,
            1.0,
            -1.0,
            0.5,
            1e-300,
            -1e300,
            1e300,
            f64::MAX,
            f64::MIN_POSITIVE,
            1e9,
            1e-9,
            f64::NAN,
            f64::INFINITY,
        ];
        let mut state = 0x2545_f491_4f6c_dd1d_u64;
        for f in functions() {
            let examples = f.example_arguments().unwrap();
            for round in 0..300 {
                let args: Vec<Quantity> = f
                    .inputs
                    .iter()
                    .zip(&examples)
                    .map(|(p, example)| {
                        state ^= state << 13;
                        state ^= state >> 7;
                        state ^= state << 17;
                        let pick = extremes[(state % extremes.len() as u64) as usize];
                        let si = if (state >> 20).is_multiple_of(3) { example.si } else { pick };
                        Quantity::new(si, p.dimension)
                    })
                    .collect();
                if let Ok(result) = f.call(&args) {
                    assert!(result.si.is_finite(), "{} round {round}: {}", f.name, trim_number(result.si, 3));
                    assert_eq!(result.dimension, f.output);
                }
            }
        }
    }
}
