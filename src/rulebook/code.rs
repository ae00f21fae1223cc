//! Checked expressions and their evaluation: three-valued, without loops, over SI numbers.
//!
//! Types and dimensions were settled when the rule was checked, so evaluation works on bare SI numbers. A fact that is
//! missing, or not of the type the table of names gives it, is unknown; so is a division by nothing.

use std::cmp::Ordering;
use std::sync::Arc;

use super::functions::{Builtin, Functions};
use super::named::Named;
use super::names::{Root, Touches, Type};
use super::scope::{Scope, Trace};
use super::value::{Near, Origin, Record, Value};
use crate::quantity::{Dimension, Quantity, trim_number};

/// A checked expression.
#[derive(Debug, Clone, PartialEq)]
pub enum Code {
    Bool(bool),
    Number(f64),
    /// Position in a closed set.
    Word(u8),
    Text(Arc<str>),
    Field(Box<Place>),
    /// A threshold named once.
    Named(Arc<Named>),
    Not(Box<Code>),
    And(Vec<Code>),
    Or(Vec<Code>),
    Compare {
        op: Comparison,
        left: Box<Code>,
        right: Box<Code>,
    },
    Within {
        of: Box<Code>,
        low: Box<Code>,
        high: Box<Code>,
    },
    OneOf {
        of: Box<Code>,
        options: Vec<Code>,
    },
    Member {
        of: Box<Code>,
        list: Box<Code>,
    },
    Known {
        of: Box<Code>,
        negated: bool,
    },
    Arithmetic {
        op: Arithmetic,
        left: Box<Code>,
        right: Box<Code>,
    },
    Negate(Box<Code>),
    Builtin {
        which: Builtin,
        point: bool,
        arguments: Vec<Code>,
    },
    Call {
        name: Arc<str>,
        inputs: Vec<Dimension>,
        arguments: Vec<Code>,
    },
    Range(Box<Code>, Box<Code>),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Comparison {
    Equal,
    NotEqual,
    Less,
    LessOrEqual,
    Greater,
    GreaterOrEqual,
}

impl Comparison {
    pub fn holds(self, order: Ordering) -> bool {
        match self {
            Self::Equal => order == Ordering::Equal,
            Self::NotEqual => order != Ordering::Equal,
            Self::Less => order == Ordering::Less,
            Self::LessOrEqual => order != Ordering::Greater,
            Self::Greater => order == Ordering::Greater,
            Self::GreaterOrEqual => order != Ordering::Less,
        }
    }

    /// Returns the comparison that holds exactly when this one does not.
    pub fn negated(self) -> Self {
        match self {
            Self::Equal => Self::NotEqual,
            Self::NotEqual => Self::Equal,
            Self::Less => Self::GreaterOrEqual,
            Self::LessOrEqual => Self::Greater,
            Self::Greater => Self::LessOrEqual,
            Self::GreaterOrEqual => Self::Less,
        }
    }

    /// Returns the comparison with its sides exchanged.
    pub fn swapped(self) -> Self {
        match self {
            Self::Less => Self::Greater,
            Self::LessOrEqual => Self::GreaterOrEqual,
            Self::Greater => Self::Less,
            Self::GreaterOrEqual => Self::LessOrEqual,
            same => same,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arithmetic {
    Add,
    Subtract,
    Multiply,
    Divide,
}

/// A name of the table, resolved: where to read, and what to expect there.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// As written, for reasons.
    pub name: String,
    pub root: Root,
    /// Fields to follow; empty for the root itself.
    pub path: Vec<&'static str>,
    /// The field of `settings`, whose names are not in the table.
    pub setting: Option<Arc<str>>,
    pub kind: Type,
    /// One end of a range.
    pub end: Option<End>,
    /// Where the first field of the path was found last.
    pub(super) near: Near,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    Low,
    High,
}

/// A value during evaluation: SI numbers, borrowed texts.
#[derive(Debug, Clone, Copy)]
pub enum Val<'s> {
    Unknown,
    Bool(bool),
    Number(f64),
    Range(f64, f64),
    Word(u8),
    Text(&'s str),
    List(&'s [Value], Type),
    Record(&'s Record),
}

/// What evaluation needs and what it leaves behind.
pub struct Context<'s, 'c> {
    pub scope: &'c Scope<'s>,
    pub functions: &'c dyn Functions,
    pub trace: Option<&'c mut Trace>,
    /// Names that were unknown, collected only when asked for.
    pub missing: Option<Vec<String>>,
}

impl Context<'_, '_> {
    fn miss(&mut self, what: &str) {
        if let Some(missing) = &mut self.missing
            && !missing.iter().any(|m| m == what)
        {
            missing.push(what.to_owned());
        }
    }
}

impl Code {
    /// Evaluates. Never fails: what cannot be known is [`Val::Unknown`].
    pub fn eval<'s>(&'s self, cx: &mut Context<'s, '_>) -> Val<'s> {
        match self {
            Code::Bool(b) => Val::Bool(*b),
            Code::Number(n) => Val::Number(*n),
            Code::Word(w) => Val::Word(*w),
            Code::Text(t) => Val::Text(t),
            Code::Field(place) => place.read(cx),
            Code::Named(named) => named.read(cx),
            Code::Not(of) => negate(of.eval(cx)),
            Code::And(all) => settle(all, false, cx),
            Code::Or(any) => settle(any, true, cx),
            Code::Compare { op, left, right } => match compare(left.eval(cx), right.eval(cx)) {
                Some(order) => Val::Bool(op.holds(order)),
                None => Val::Unknown,
            },
            Code::Within { of, low, high } => within(of.eval(cx), low.eval(cx), high.eval(cx)),
            Code::OneOf { of, options } => one_of(of, options, cx),
            Code::Member { of, list } => member(of.eval(cx), list.eval(cx)),
            Code::Known { of, negated } => known(of, *negated, cx),
            Code::Arithmetic { op, left, right } => arithmetic(*op, left.eval(cx), right.eval(cx)),
            Code::Negate(of) => match of.eval(cx) {
                Val::Number(n) => Val::Number(-n),
                _ => Val::Unknown,
            },
            Code::Builtin { which, point, arguments } => builtin(*which, *point, arguments, cx),
            Code::Call { name, inputs, arguments } => call(name, inputs, arguments, cx),
            Code::Range(low, high) => match (low.eval(cx), high.eval(cx)) {
                (Val::Number(a), Val::Number(b)) => Val::Range(a, b),
                _ => Val::Unknown,
            },
        }
    }

    /// Returns the value of an expression that reads no fact and calls no function.
    pub fn constant(&self) -> Option<Val<'_>> {
        if self.reads() {
            return None;
        }
        let scope = Scope::new();
        let mut cx = Context { scope: &scope, functions: &super::functions::NoFunctions, trace: None, missing: None };
        Some(self.eval(&mut cx))
    }

    /// Returns whether the expression has the same value whatever is decided: it reads only facts that hang on no decision.
    pub(super) fn stands_before_decisions(&self) -> bool {
        let all = |codes: &[Code]| codes.iter().all(Code::stands_before_decisions);
        match self {
            Code::Field(place) => place.touches().is_some_and(Touches::is_empty),
            Code::Named(named) => named.code.stands_before_decisions(),
            Code::Bool(_) | Code::Number(_) | Code::Word(_) | Code::Text(_) => true,
            Code::Not(a) | Code::Negate(a) | Code::Known { of: a, .. } => a.stands_before_decisions(),
            Code::And(of) | Code::Or(of) | Code::Builtin { arguments: of, .. } | Code::Call { arguments: of, .. } => {
                all(of)
            }
            Code::Compare { left, right, .. } | Code::Arithmetic { left, right, .. } | Code::Range(left, right) => {
                left.stands_before_decisions() && right.stands_before_decisions()
            }
            Code::Within { of, low, high } => [of, low, high].iter().all(|c| c.stands_before_decisions()),
            Code::OneOf { of, options } => of.stands_before_decisions() && all(options),
            Code::Member { of, list } => of.stands_before_decisions() && list.stands_before_decisions(),
        }
    }

    fn reads(&self) -> bool {
        match self {
            Code::Field(_) | Code::Call { .. } => true,
            Code::Named(named) => named.code.reads(),
            Code::Bool(_) | Code::Number(_) | Code::Word(_) | Code::Text(_) => false,
            Code::Not(a) | Code::Negate(a) | Code::Known { of: a, .. } => a.reads(),
            Code::And(all) | Code::Or(all) | Code::Builtin { arguments: all, .. } => all.iter().any(Code::reads),
            Code::Compare { left, right, .. } | Code::Arithmetic { left, right, .. } | Code::Range(left, right) => {
                left.reads() || right.reads()
            }
            Code::Within { of, low, high } => of.reads() || low.reads() || high.reads(),
            Code::OneOf { of, options } => of.reads() || options.iter().any(Code::reads),
            Code::Member { of, list } => of.reads() || list.reads(),
        }
    }
}

impl Place {
    fn read<'s>(&'s self, cx: &mut Context<'s, '_>) -> Val<'s> {
        let Some(mut record) = cx.scope.get(self.root) else {
            cx.miss(&self.name);
            return Val::Unknown;
        };
        let steps = self.path.iter().copied().chain(self.setting.as_deref());
        let mut fact: Option<&'s super::value::Fact> = None;
        for step in steps {
            if let Some(super::value::Fact { value: Value::Record(inner), .. }) = fact {
                record = inner;
            } else if fact.is_some() {
                cx.miss(&self.name);
                return Val::Unknown;
            }
            // Only the first field is read of records that are made alike.
            fact = if fact.is_none() { record.get_near(step, &self.near) } else { record.get(step) };
            if fact.is_none() {
                cx.miss(&self.name);
                return Val::Unknown;
            }
        }
        let Some(fact) = fact else {
            if let Some(trace) = &mut cx.trace {
                trace.note(&self.name, Value::text(&record.title), Origin::None);
            }
            return Val::Record(record);
        };
        let value = match (self.end, self.root, &fact.origin) {
            (Some(end), Root::Figure, Origin::Sourced { low, high, .. }) => {
                let of = if end == End::Low { low } else { high };
                // An end that is not given is the typical value.
                of.map_or(self.kind.borrow(&fact.value), |q| Val::Number(q.si))
            }
            (Some(_), Root::Figure, _) => self.kind.borrow(&fact.value),
            _ => self.end_of(self.kind.borrow(&fact.value)),
        };
        if matches!(value, Val::Unknown) {
            cx.miss(&self.name);
        } else if let Some(trace) = &mut cx.trace {
            trace.note(&self.name, value.to_value(self.shown_kind()), fact.origin.clone());
        }
        value
    }

    fn end_of<'s>(&self, value: Val<'s>) -> Val<'s> {
        match (self.end, value) {
            (Some(End::Low), Val::Range(low, _)) => Val::Number(low),
            (Some(End::High), Val::Range(_, high)) => Val::Number(high),
            (None, value) => value,
            _ => Val::Unknown,
        }
    }

    /// Returns the decisions that what is read hangs on; `None` for a setting, which hangs on those of its rules.
    fn touches(&self) -> Option<Touches> {
        if self.root == Root::Settings {
            return None;
        }
        let field = self.path.first().and_then(|name| self.root.field(name));
        Some(self.root.touches().union(field.map_or(Touches::NONE, |f| f.also)))
    }

    /// Returns the type of what is read, the end of a range counted.
    pub fn shown_kind(&self) -> Type {
        match (self.end, self.kind) {
            (Some(_), Type::Range(d)) => Type::Quantity(d),
            (_, kind) => kind,
        }
    }
}

impl Named {
    fn read<'s>(&'s self, cx: &mut Context<'s, '_>) -> Val<'s> {
        let value = self.code.eval(cx);
        if value.is_known()
            && let Some(trace) = &mut cx.trace
        {
            trace.note(&self.name, value.to_value(self.kind), self.origin.clone());
        }
        value
    }
}

impl Type {
    /// Reads a stored value as this type; anything else is unknown.
    pub(super) fn borrow(self, value: &Value) -> Val<'_> {
        match (self, value) {
            (Type::Bool, Value::Bool(b)) => Val::Bool(*b),
            (Type::Quantity(d), Value::Quantity(q)) if q.dimension == d && q.si.is_finite() => Val::Number(q.si),
            (Type::Range(d), Value::Range(low, high)) if low.dimension == d && high.dimension == d => {
                Val::Range(low.si, high.si)
            }
            (Type::Text, Value::Text(t)) => Val::Text(t.as_ref()),
            (Type::Word(words), Value::Word(w)) => {
                words.iter().position(|x| *x == w.as_ref()).map_or(Val::Unknown, |i| Val::Word(i as u8))
            }
            (Type::List(of), Value::List(items)) => Val::List(items, *of),
            (Type::Record(_), Value::Record(r)) => Val::Record(r),
            _ => Val::Unknown,
        }
    }
}

impl Val<'_> {
    pub fn is_known(self) -> bool {
        !matches!(self, Val::Unknown)
    }

    /// Returns the value in the form records hold.
    pub fn to_value(self, kind: Type) -> Value {
        let quantity = |si| match kind {
            Type::Quantity(d) | Type::Range(d) => Quantity::new(si, d),
            _ => Quantity::number(si),
        };
        match self {
            Val::Unknown => Value::Unknown,
            Val::Bool(b) => Value::Bool(b),
            Val::Number(n) => Value::Quantity(quantity(n)),
            Val::Range(a, b) => Value::Range(quantity(a), quantity(b)),
            Val::Word(i) => match kind {
                Type::Word(words) => words.get(i as usize).map_or(Value::Unknown, |w| Value::word(*w)),
                _ => Value::Unknown,
            },
            Val::Text(t) => Value::text(t),
            Val::List(items, _) => Value::List(Arc::from(items.to_vec())),
            Val::Record(r) => Value::Record(Arc::new(r.clone())),
        }
    }

    /// Prints for a person.
    pub fn show(self, kind: Type) -> String {
        show(&self.to_value(kind))
    }
}

/// Prints a value for a person: quantities in shop units, records by their title, an unknown as "not known".
pub fn show(value: &Value) -> String {
    match value {
        Value::Unknown => "(not known)".to_owned(),
        Value::Bool(b) => if *b { "yes" } else { "no" }.to_owned(),
        Value::Quantity(q) => q.to_string(),
        Value::Range(a, b) => format!("{a} .. {b}"),
        Value::Text(t) | Value::Word(t) => t.to_string(),
        Value::List(items) => items.iter().map(show).collect::<Vec<_>>().join(", "),
        Value::Record(r) => r.title.clone(),
    }
}

/// Prints a share as a percentage.
pub fn percent_words(value: &Value) -> String {
    match value.as_quantity() {
        Some(share) => format!("{} %", trim_number(share.si * 100.0, 0)),
        None => "(not known)".to_owned(),
    }
}

fn negate(value: Val<'_>) -> Val<'_> {
    match value {
        Val::Bool(b) => Val::Bool(!b),
        _ => Val::Unknown,
    }
}

/// `and` ends at the first false, `or` at the first true; otherwise one unknown makes the whole unknown.
fn settle<'s>(all: &'s [Code], decisive: bool, cx: &mut Context<'s, '_>) -> Val<'s> {
    let mut unknown = false;
    for code in all {
        match code.eval(cx) {
            Val::Bool(b) if b == decisive => return Val::Bool(decisive),
            Val::Bool(_) => {}
            _ => unknown = true,
        }
    }
    if unknown { Val::Unknown } else { Val::Bool(!decisive) }
}

/// Numbers that differ by rounding only are equal: `70 °C + 10 K` must not miss `80 °C` by the last bit.
pub fn compare_numbers(a: f64, b: f64) -> Option<Ordering> {
    if (a - b).abs() <= 1e-9 * a.abs().max(b.abs()) { Some(Ordering::Equal) } else { a.partial_cmp(&b) }
}

pub(super) fn compare(left: Val<'_>, right: Val<'_>) -> Option<Ordering> {
    match (left, right) {
        (Val::Number(a), Val::Number(b)) => compare_numbers(a, b),
        (Val::Word(a), Val::Word(b)) => Some(a.cmp(&b)),
        (Val::Bool(a), Val::Bool(b)) => Some(a.cmp(&b)),
        (Val::Text(a), Val::Text(b)) => Some(a.cmp(b)),
        (Val::Record(a), Val::Record(b)) => Some(identity(a).cmp(identity(b))),
        _ => None,
    }
}

/// Two records are the same thing if they carry the same name.
fn identity(record: &Record) -> &str {
    match record.get("name").map(|f| &f.value) {
        Some(Value::Text(name)) => name.as_ref(),
        _ => &record.title,
    }
}

fn within<'s>(of: Val<'s>, low: Val<'s>, high: Val<'s>) -> Val<'s> {
    let at_least = compare(of, low).map(|o| o != Ordering::Less);
    let at_most = compare(of, high).map(|o| o != Ordering::Greater);
    match (at_least, at_most) {
        (Some(false), _) | (_, Some(false)) => Val::Bool(false),
        (Some(true), Some(true)) => Val::Bool(true),
        _ => Val::Unknown,
    }
}

fn one_of<'s>(of: &'s Code, options: &'s [Code], cx: &mut Context<'s, '_>) -> Val<'s> {
    let value = of.eval(cx);
    let mut unknown = false;
    for option in options {
        match compare(value, option.eval(cx)) {
            Some(Ordering::Equal) => return Val::Bool(true),
            Some(_) => {}
            None => unknown = true,
        }
    }
    if unknown { Val::Unknown } else { Val::Bool(false) }
}

fn member<'s>(of: Val<'s>, list: Val<'s>) -> Val<'s> {
    let Val::List(items, kind) = list else {
        return match list {
            Val::Range(low, high) => within(of, Val::Number(low), Val::Number(high)),
            _ => Val::Unknown,
        };
    };
    if !of.is_known() {
        return Val::Unknown;
    }
    Val::Bool(items.iter().any(|item| compare(of, kind.borrow(item)) == Some(Ordering::Equal)))
}

/// Asking whether something is known leaves no trace of it being missing.
fn known<'s>(of: &'s Code, negated: bool, cx: &mut Context<'s, '_>) -> Val<'s> {
    let missing = cx.missing.take();
    let value = of.eval(cx);
    cx.missing = missing;
    Val::Bool(value.is_known() != negated)
}

fn arithmetic<'s>(op: Arithmetic, left: Val<'s>, right: Val<'s>) -> Val<'s> {
    let (Val::Number(a), Val::Number(b)) = (left, right) else { return Val::Unknown };
    let result = match op {
        Arithmetic::Add => a + b,
        Arithmetic::Subtract => a - b,
        Arithmetic::Multiply => a * b,
        Arithmetic::Divide => a / b,
    };
    if result.is_finite() { Val::Number(result) } else { Val::Unknown }
}

fn builtin<'s>(which: Builtin, point: bool, arguments: &'s [Code], cx: &mut Context<'s, '_>) -> Val<'s> {
    match (which, arguments) {
        (Builtin::Choose, [condition, yes, no]) => match condition.eval(cx) {
            Val::Bool(true) => yes.eval(cx),
            Val::Bool(false) => no.eval(cx),
            _ => Val::Unknown,
        },
        (Builtin::Given, [x, fallback]) => {
            let missing = cx.missing.take();
            let value = x.eval(cx);
            cx.missing = missing;
            if value.is_known() { value } else { fallback.eval(cx) }
        }
        (Builtin::ByConsequence, [of, cases @ ..]) => match of.eval(cx) {
            Val::Word(i) => cases.get(usize::from(i)).map_or(Val::Unknown, |case| case.eval(cx)),
            _ => Val::Unknown,
        },
        (Builtin::Count, [list]) => match list.eval(cx) {
            Val::List(items, _) => Val::Number(items.len() as f64),
            _ => Val::Unknown,
        },
        _ => numeric(which, point, arguments, cx),
    }
}

fn numeric<'s>(which: Builtin, point: bool, arguments: &'s [Code], cx: &mut Context<'s, '_>) -> Val<'s> {
    let mut result: Option<f64> = None;
    let mut rest = [0.0; 2];
    for (i, code) in arguments.iter().enumerate() {
        let Val::Number(n) = code.eval(cx) else { return Val::Unknown };
        result = Some(match (result, which) {
            (None, _) => n,
            (Some(r), Builtin::Min) => r.min(n),
            (Some(r), Builtin::Max) => r.max(n),
            (Some(r), _) => {
                if let Some(slot) = rest.get_mut(i - 1) {
                    *slot = n;
                }
                r
            }
        });
    }
    let Some(x) = result else { return Val::Unknown };
    let [a, b] = rest;
    let value = match which {
        Builtin::Clamp => x.min(b).max(a),
        Builtin::Round => step(x, a, point, f64::round),
        Builtin::RoundUp => step(x, a, point, |q| (q - 1e-9).ceil()),
        Builtin::RoundDown => step(x, a, point, |q| (q + 1e-9).floor()),
        Builtin::Abs => x.abs(),
        _ => x,
    };
    if value.is_finite() { Val::Number(value) } else { Val::Unknown }
}

/// Temperatures are rounded on the Celsius scale, on which people set them.
fn step(x: f64, step: f64, point: bool, to: impl Fn(f64) -> f64) -> f64 {
    let zero = if point { 273.15 } else { 0.0 };
    to((x - zero) / step) * step + zero
}

fn call<'s>(name: &str, inputs: &[Dimension], arguments: &'s [Code], cx: &mut Context<'s, '_>) -> Val<'s> {
    let mut given = Vec::with_capacity(arguments.len());
    for (code, dimension) in arguments.iter().zip(inputs) {
        let Val::Number(n) = code.eval(cx) else { return Val::Unknown };
        given.push(Quantity::new(n, *dimension));
    }
    match cx.functions.call(name, &given) {
        Ok(q) if q.si.is_finite() => {
            if let Some(trace) = &mut cx.trace {
                let shown: Vec<String> = given.iter().map(ToString::to_string).collect();
                let working = format!("{name}({})", shown.join(", "));
                trace.note(
                    &working,
                    Value::Quantity(q),
                    Origin::Computed { working: format!("{working} = {q}").into() },
                );
            }
            Val::Number(q.si)
        }
        Ok(_) => Val::Unknown,
        Err(reason) => {
            cx.miss(&format!("{name}(..): {reason}"));
            Val::Unknown
        }
    }
}
