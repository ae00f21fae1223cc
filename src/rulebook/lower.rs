//! From expressions as written to checked code: names, dimensions, words of closed sets.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::code::{Arithmetic, Code, Comparison, End, Place, Val};
use super::functions::{BUILTINS, Builtin, Functions, builtin};
use super::named::Names;
use super::names::{Field, Root, Touches, Type};
use crate::catalogue::figures;
use crate::diag::renamed::{renamed, renamed_fact};
use crate::diag::{Diagnostic, Span, nearest};
use crate::quantity::{Dimension, Quantity};
use crate::syntax::text::Ready;
use crate::syntax::tree::{BinaryOp, Expr, ExprKind, Word, join};

/// What the expressions of a rule name.
#[derive(Debug, Clone, Default)]
pub(super) struct Uses {
    pub touches: Touches,
    /// Roots judged per instance, with the place of their first naming.
    pub each: BTreeMap<Root, Span>,
    pub settings: BTreeSet<String>,
    pub names: BTreeSet<String>,
    pub functions: BTreeSet<String>,
    pub thresholds: BTreeSet<String>,
}

impl Uses {
    /// Adds what a threshold names to what the rule that reads it names.
    fn join(&mut self, other: &Uses, at: Span) {
        self.touches = self.touches.union(other.touches);
        for root in other.each.keys() {
            self.each.entry(*root).or_insert(at);
        }
        self.names.extend(other.names.iter().cloned());
        self.functions.extend(other.functions.iter().cloned());
        self.thresholds.extend(other.thresholds.iter().cloned());
    }
}

/// Lowers the expressions of one rule; every finding goes to `diagnostics`.
pub(super) struct Lower<'a> {
    pub functions: &'a dyn Functions,
    /// Types of the settings that `derive` rules define.
    pub settings: &'a BTreeMap<String, Type>,
    /// Settings whose own rules are wrong: naming one is no second mistake.
    pub poisoned: &'a BTreeSet<String>,
    /// Thresholds by name.
    pub names: &'a Names,
    /// Thresholds whose own statements are wrong: naming one is no second mistake.
    pub wrong_names: &'a BTreeSet<String>,
    /// What the rule itself names, and which of it was read.
    pub locals: Locals<'a>,
    /// Expressions of texts that were read beforehand.
    pub ready: &'a Ready,
    pub diagnostics: &'a mut Vec<Diagnostic>,
    pub uses: Uses,
    pub depth: usize,
}

/// What a rule names for itself: `let NAME = EXPRESSION` in its block.
#[derive(Default)]
pub(super) struct Locals<'a> {
    pub given: BTreeMap<String, &'a Expr>,
    pub read: BTreeSet<String>,
}

/// Returns the word an expression is, where it is no more than one.
fn bare(expr: &Expr) -> Option<&Word> {
    match &expr.kind {
        ExprKind::Name(parts) => match parts.as_slice() {
            [word] => Some(word),
            _ => None,
        },
        _ => None,
    }
}

/// Whether a word is one of a closed set; there it stands for itself, even where a root of names is called the same
/// (`margin.kind == load`).
fn is_word_of(kind: Type, word: &Word) -> bool {
    matches!(kind, Type::Word(words) if words.contains(&word.text.as_str()))
}

/// Expressions nested deeper are refused: a chain of operators nests once per operator, and the walk recurses.
const DEEPEST: usize = 100;

/// A checked expression and its type. A word is of no type until it meets what it is compared with.
#[derive(Debug, Clone)]
pub(super) enum Typed {
    Of(Type, Code),
    Bare(Word),
}

impl Lower<'_> {
    fn error(&mut self, code: &'static str, span: Span, message: impl Into<String>) {
        self.diagnostics.push(Diagnostic::error(code, span, message));
    }

    fn error_hint(&mut self, code: &'static str, span: Span, message: String, hint: String) {
        self.diagnostics.push(Diagnostic::error(code, span, message).hint(hint));
    }

    /// Lowers an expression that must come to yes or no.
    pub fn condition(&mut self, expr: &Expr) -> Option<Code> {
        match self.value(expr)? {
            (Type::Bool, code) => Some(code),
            (kind, _) => {
                self.error_hint(
                    "rule/not-a-condition",
                    expr.span,
                    format!("expected a condition, found {}", kind.noun()),
                    "compare it with something, as in `material.heat_limit >= 80 °C`".to_owned(),
                );
                None
            }
        }
    }

    /// Lowers an expression that must be a number of this dimension.
    pub fn quantity(&mut self, expr: &Expr, dimension: Dimension) -> Option<Code> {
        match self.value(expr)? {
            (Type::Quantity(d), code) if d == dimension => Some(code),
            (kind, _) => {
                let message = format!("expected {}, found {}", dimension.name(), kind.noun());
                self.error("rule/wrong-dimension", expr.span, message);
                None
            }
        }
    }

    /// Lowers an expression that has a type of its own.
    pub fn value(&mut self, expr: &Expr) -> Option<(Type, Code)> {
        match self.any(expr)? {
            Typed::Of(kind, code) => Some((kind, code)),
            Typed::Bare(word) => {
                self.unknown_root(&word);
                None
            }
        }
    }

    pub(super) fn unknown_root(&mut self, word: &Word) {
        if let Some(write) = renamed_fact(&word.text, None) {
            let message = format!("nothing is named `{}` any more", word.text);
            self.error_hint("rule/unknown-name", word.span, message, write.to_owned());
            return;
        }
        let known = Root::ALL.iter().map(|r| r.word());
        let near = nearest(
            &word.text,
            known.chain(self.names.keys().map(String::as_str)).chain(self.locals.given.keys().map(String::as_str)),
        );
        let hint = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None => {
                let roots: Vec<&str> = Root::ALL.iter().map(|r| r.word()).collect();
                format!("a name begins with one of {}, or is given by a `let`", roots.join(", "))
            }
        };
        self.error_hint("rule/unknown-name", word.span, format!("unknown name `{}`", word.text), hint);
    }

    fn any(&mut self, expr: &Expr) -> Option<Typed> {
        if self.depth > DEEPEST {
            // Both operands stand too deep; one message does.
            if self.diagnostics.last().is_some_and(|d| d.code == "rule/too-long") {
                return None;
            }
            self.error_hint(
                "rule/too-long",
                expr.span,
                format!("an expression of more than {DEEPEST} operators in a row"),
                "split it into several `when` or `require` lines, or a setting".to_owned(),
            );
            return None;
        }
        self.depth += 1;
        let typed = self.shallow(expr);
        self.depth -= 1;
        typed
    }

    fn shallow(&mut self, expr: &Expr) -> Option<Typed> {
        let (kind, code) = match &expr.kind {
            ExprKind::Number { value, unit } => self.number(expr, *value, unit.as_ref())?,
            ExprKind::Text(text) => (Type::Text, Code::Text(Arc::from(text.as_str()))),
            ExprKind::Name(parts) => return self.name(parts),
            ExprKind::Call { name, arguments } => self.call(expr, name, arguments)?,
            ExprKind::Negate(of) => match self.value(of)? {
                (Type::Quantity(d), code) if !d.point => match code {
                    Code::Number(n) => (Type::Quantity(d), Code::Number(-n)),
                    code => (Type::Quantity(d), Code::Negate(Box::new(code))),
                },
                (Type::Quantity(d), Code::Number(_)) => (Type::Quantity(d), self.negative_temperature(of)?),
                (kind, _) => {
                    self.error("rule/wrong-type", of.span, format!("`-` needs a number, found {}", kind.noun()));
                    return None;
                }
            },
            ExprKind::Not(of) => (Type::Bool, Code::Not(Box::new(self.condition(of)?))),
            ExprKind::Known { of, negated } => {
                (Type::Bool, Code::Known { of: Box::new(self.value(of)?.1), negated: *negated })
            }
            ExprKind::Binary { op, left, right } => self.binary(expr, *op, left, right)?,
            ExprKind::List(_) | ExprKind::Tuple(_) => {
                self.error_hint(
                    "rule/stray-list",
                    expr.span,
                    "a list stands only after `in`".to_owned(),
                    "write `nozzle.bore in [0.4 mm, 0.6 mm]`".to_owned(),
                );
                return None;
            }
            _ => {
                self.error("rule/not-a-value", expr.span, format!("{} is not a value of a rule", expr.noun()));
                return None;
            }
        };
        Some(Typed::Of(kind, code))
    }

    /// `-25 °C`: the sign belongs to the number on its scale, not to the kelvins.
    fn negative_temperature(&mut self, of: &Expr) -> Option<Code> {
        if let ExprKind::Number { value, unit: Some(unit) } = &of.kind {
            return match Quantity::with_unit(-value, &unit.text) {
                Ok(q) => Some(Code::Number(q.si)),
                Err(e) => {
                    self.error("rule/number", of.span, e.to_string());
                    None
                }
            };
        }
        self.error("rule/wrong-type", of.span, "`-` cannot stand before a temperature that is not a number");
        None
    }

    fn number(&mut self, expr: &Expr, value: f64, unit: Option<&Word>) -> Option<(Type, Code)> {
        match Quantity::with_unit(value, unit.map_or("", |u| &u.text)) {
            Ok(q) => Some((Type::Quantity(q.dimension), Code::Number(q.si))),
            Err(e) => {
                self.error("rule/number", expr.span, e.to_string());
                None
            }
        }
    }

    fn name(&mut self, parts: &[Word]) -> Option<Typed> {
        let first = parts.first()?;
        if parts.len() == 1 && matches!(first.text.as_str(), "true" | "false" | "yes" | "no") {
            let yes = matches!(first.text.as_str(), "true" | "yes");
            return Some(Typed::Of(Type::Bool, Code::Bool(yes)));
        }
        let Some(root) = Root::parse(&first.text) else {
            if parts.len() == 1
                && let Some(local) = self.locals.given.remove(&first.text)
            {
                // Taken out meanwhile: one that reads itself is not known.
                let found = self.value(local);
                self.locals.given.insert(first.text.clone(), local);
                self.locals.read.insert(first.text.clone());
                return found.map(|(kind, code)| Typed::Of(kind, code));
            }
            if parts.len() == 1 && self.wrong_names.contains(&first.text) {
                return None;
            }
            if parts.len() == 1
                && let Some(named) = self.names.get(&first.text)
            {
                self.uses.join(&named.uses, first.span);
                self.uses.thresholds.insert(named.name.clone());
                return Some(Typed::Of(named.kind, Code::Named(Arc::clone(named))));
            }
            if parts.len() == 1 {
                return Some(Typed::Bare(first.clone()));
            }
            self.unknown_root(first);
            return None;
        };
        if let (Root::Figure, [figure, word]) = (root, parts)
            && let Some(cases) =
                figures::TABLE.iter().find(|row| row.name == word.text).and_then(|row| row.by_consequence)
        {
            let case = |name: &str| [figure.clone(), Word { text: name.to_owned(), span: word.span }];
            let cases = cases.map(|name| self.place(root, &case(name)));
            let codes: Option<Vec<Code>> = cases.into_iter().map(|p| p.map(|p| Code::Field(Box::new(p)))).collect();
            let kind = root.field(&word.text)?.kind;
            return Some(Typed::Of(kind, self.for_consequence(word.span, codes?)?));
        }
        let place = self.place(root, parts)?;
        Some(Typed::Of(place.shown_kind(), Code::Field(Box::new(place))))
    }

    /// Returns the one of three values that stands for what a failure of the part would do.
    pub fn for_consequence(&mut self, at: Span, mut cases: Vec<Code>) -> Option<Code> {
        let word = |text: &str| Word { text: text.to_owned(), span: at };
        let of = self.place(Root::Part, &[word("part"), word("consequence")])?;
        cases.insert(0, Code::Field(Box::new(of)));
        Some(Code::Builtin { which: Builtin::ByConsequence, point: false, arguments: cases })
    }

    /// Resolves a dotted name and notes what it touches.
    fn place(&mut self, root: Root, parts: &[Word]) -> Option<Place> {
        let first = parts.first()?;
        let mut place = Place {
            name: join(parts),
            root,
            path: Vec::new(),
            setting: None,
            kind: Type::Record(root),
            end: None,
            near: super::value::Near::default(),
        };
        let mut touches = root.touches();
        for word in parts.iter().skip(1) {
            match place.kind {
                Type::Record(Root::Settings) if place.setting.is_none() => {
                    place.kind = self.setting(word)?;
                    place.setting = Some(Arc::from(word.text.as_str()));
                }
                Type::Record(of) => {
                    let field = self.field(of, word)?;
                    // A field of a thing that another field names (printer.loaded.x) touches what led there.
                    if of == root && place.path.is_empty() {
                        touches = touches.union(field.also);
                    }
                    place.path.push(field.name);
                    place.kind = field.kind;
                }
                Type::Quantity(_) if root == Root::Figure && place.end.is_none() => place.end = Some(self.end(word)?),
                Type::Range(_) if place.end.is_none() => place.end = Some(self.end(word)?),
                kind => {
                    let (message, span) = (format!("{} has no parts", kind.noun()), word.span);
                    self.error("rule/unknown-name", span, message);
                    return None;
                }
            }
        }
        if root.is_each() {
            self.uses.each.entry(root).or_insert(first.span);
        }
        self.uses.touches = self.uses.touches.union(touches);
        self.uses.names.insert(place.name.clone());
        Some(place)
    }

    fn field(&mut self, of: Root, word: &Word) -> Option<&'static Field> {
        if let Some(field) = of.field(&word.text) {
            return Some(field);
        }
        if let Some((message, write)) = renamed(&word.text, of.fields().iter().map(|f| f.name)) {
            self.error_hint("rule/unknown-name", word.span, message, write.to_owned());
            return None;
        }
        if let Some(write) = renamed_fact(of.word(), Some(&word.text)) {
            let message = format!("`{}` has no `{}` any more", of.word(), word.text);
            self.error_hint("rule/unknown-name", word.span, message, write.to_owned());
            return None;
        }
        let near = nearest(&word.text, of.fields().iter().map(|f| f.name));
        let hint = near.map_or_else(
            || format!("`{}` has {}", of.word(), of.fields().iter().map(|f| f.name).collect::<Vec<_>>().join(", ")),
            |near| format!("did you mean `{near}`?"),
        );
        let message = format!("`{}` has no `{}`", of.word(), word.text);
        self.error_hint("rule/unknown-name", word.span, message, hint);
        None
    }

    fn setting(&mut self, word: &Word) -> Option<Type> {
        if let Some(kind) = self.settings.get(&word.text) {
            self.uses.settings.insert(word.text.clone());
            return Some(*kind);
        }
        if self.poisoned.contains(&word.text) {
            return None;
        }
        if let Some((message, write)) = renamed(&word.text, self.settings.keys().map(String::as_str)) {
            self.error_hint("rule/unknown-setting", word.span, message, write.to_owned());
            return None;
        }
        let near = nearest(&word.text, self.settings.keys().map(String::as_str));
        let hint = near.map_or_else(
            || format!("a rule has to give it: `derive settings.{} = ...`", word.text),
            |near| format!("did you mean `{near}`?"),
        );
        self.error_hint("rule/unknown-setting", word.span, format!("no rule derives `{}`", word.text), hint);
        None
    }

    fn end(&mut self, word: &Word) -> Option<End> {
        match word.text.as_str() {
            "low" | "min" => Some(End::Low),
            "high" | "max" => Some(End::High),
            other => {
                let message = format!("a range has `low` and `high`, not `{other}`");
                self.error("rule/unknown-name", word.span, message);
                None
            }
        }
    }

    fn binary(&mut self, expr: &Expr, op: BinaryOp, left: &Expr, right: &Expr) -> Option<(Type, Code)> {
        match op {
            BinaryOp::And | BinaryOp::Or => {
                // Both sides are looked at, so that one run shows both mistakes.
                let (l, r) = (self.condition(left), self.condition(right));
                let (l, r) = (l?, r?);
                let code = if op == BinaryOp::And { flatten(l, r, true) } else { flatten(l, r, false) };
                Some((Type::Bool, code))
            }
            BinaryOp::Equal => self.compare(expr, Comparison::Equal, left, right),
            BinaryOp::NotEqual => self.compare(expr, Comparison::NotEqual, left, right),
            BinaryOp::Less => self.compare(expr, Comparison::Less, left, right),
            BinaryOp::LessOrEqual => self.compare(expr, Comparison::LessOrEqual, left, right),
            BinaryOp::Greater => self.compare(expr, Comparison::Greater, left, right),
            BinaryOp::GreaterOrEqual => self.compare(expr, Comparison::GreaterOrEqual, left, right),
            BinaryOp::In => self.membership(left, right),
            BinaryOp::Range => self.range(expr, left, right),
            BinaryOp::Add => self.arithmetic(expr, Arithmetic::Add, left, right),
            BinaryOp::Subtract => self.arithmetic(expr, Arithmetic::Subtract, left, right),
            BinaryOp::Multiply => self.arithmetic(expr, Arithmetic::Multiply, left, right),
            BinaryOp::Divide => self.arithmetic(expr, Arithmetic::Divide, left, right),
        }
    }

    fn compare(&mut self, expr: &Expr, op: Comparison, left: &Expr, right: &Expr) -> Option<(Type, Code)> {
        let l = self.any(left);
        let r = match (&l, bare(right)) {
            (Some(Typed::Of(kind, _)), Some(word)) if is_word_of(*kind, word) => Some(Typed::Bare(word.clone())),
            _ => self.any(right),
        };
        let (kind, l, r) = match (l?, r?) {
            (Typed::Of(kind, l), Typed::Bare(word)) => (kind, l, self.word(kind, &word)?),
            (Typed::Bare(word), Typed::Of(kind, r)) => (kind, self.word(kind, &word)?, r),
            (Typed::Bare(word), Typed::Bare(_)) => {
                self.unknown_root(&word);
                return None;
            }
            (Typed::Of(lk, l), Typed::Of(rk, r)) => {
                if !comparable(lk, rk) {
                    let message = format!("{} cannot be compared with {}", lk.noun(), rk.noun());
                    self.diagnostics.push(
                        Diagnostic::error("rule/wrong-dimension", expr.span, message)
                            .label(left.span, lk.noun())
                            .label(right.span, rk.noun()),
                    );
                    return None;
                }
                (lk, l, r)
            }
        };
        let ordered = matches!(kind, Type::Quantity(_) | Type::Word(_));
        if !ordered && !matches!(op, Comparison::Equal | Comparison::NotEqual) {
            let message = format!("{} has no order: only `==` and `!=` apply", kind.noun());
            self.error("rule/no-order", expr.span, message);
            return None;
        }
        Some((Type::Bool, Code::Compare { op, left: Box::new(l), right: Box::new(r) }))
    }

    /// Places a word in the closed set it is compared with.
    fn word(&mut self, kind: Type, word: &Word) -> Option<Code> {
        let Type::Word(words) = kind else {
            let message = format!("`{}` is a word, but it is compared with {}", word.text, kind.noun());
            let hint = match kind {
                Type::Text => format!("write `\"{}\"`", word.text),
                _ => "write a value of that kind".to_owned(),
            };
            self.error_hint("rule/unknown-name", word.span, message, hint);
            return None;
        };
        if let Some(i) = words.iter().position(|w| *w == word.text) {
            return Some(Code::Word(i as u8));
        }
        let mut hint = format!("one of {}", words.join(", "));
        if let Some(near) = nearest(&word.text, words.iter().copied()) {
            hint = format!("did you mean `{near}`? ({hint})");
        }
        self.error_hint("rule/unknown-word", word.span, format!("`{}` is not a word that fits here", word.text), hint);
        None
    }

    fn membership(&mut self, left: &Expr, right: &Expr) -> Option<(Type, Code)> {
        match &right.kind {
            ExprKind::List(items) => {
                let (kind, of) = self.value(left)?;
                let options: Vec<Option<Code>> = items.iter().map(|item| self.option(kind, item)).collect();
                Some((
                    Type::Bool,
                    Code::OneOf { of: Box::new(of), options: options.into_iter().collect::<Option<_>>()? },
                ))
            }
            ExprKind::Binary { op: BinaryOp::Range, left: low, right: high } => {
                let (kind, of) = self.value(left)?;
                let Type::Quantity(d) = kind else {
                    self.error("rule/wrong-type", left.span, format!("{} cannot lie in a range", kind.noun()));
                    return None;
                };
                let (low, high) = (self.quantity(low, d), self.quantity(high, d));
                Some((Type::Bool, Code::Within { of: Box::new(of), low: Box::new(low?), high: Box::new(high?) }))
            }
            _ => {
                let ((kind, of), (list_kind, list)) = (self.value(left)?, self.value(right)?);
                let fits = match list_kind {
                    Type::List(item) => comparable(kind, *item),
                    Type::Range(d) => kind == Type::Quantity(d),
                    _ => false,
                };
                if !fits {
                    let message = format!("{} cannot be in {}", kind.noun(), list_kind.noun());
                    self.error("rule/wrong-type", right.span, message);
                    return None;
                }
                Some((Type::Bool, Code::Member { of: Box::new(of), list: Box::new(list) }))
            }
        }
    }

    pub fn option(&mut self, kind: Type, item: &Expr) -> Option<Code> {
        if let Some(word) = bare(item).filter(|word| is_word_of(kind, word)) {
            return self.word(kind, word);
        }
        match self.any(item)? {
            Typed::Bare(word) => self.word(kind, &word),
            Typed::Of(found, code) if comparable(kind, found) => Some(code),
            Typed::Of(found, _) => {
                let message = format!("expected {}, found {}", kind.noun(), found.noun());
                self.error("rule/wrong-dimension", item.span, message);
                None
            }
        }
    }

    fn range(&mut self, expr: &Expr, low: &Expr, high: &Expr) -> Option<(Type, Code)> {
        let (lk, l) = self.value(low)?;
        let Type::Quantity(d) = lk else {
            self.error("rule/wrong-type", low.span, format!("a range goes from number to number, found {}", lk.noun()));
            return None;
        };
        let h = self.quantity(high, d)?;
        if let (Some(Val::Number(a)), Some(Val::Number(b))) = (l.constant(), h.constant())
            && a > b
        {
            self.error_hint(
                "rule/range-upside-down",
                expr.span,
                "the range is upside down".to_owned(),
                "write the lower end first".to_owned(),
            );
            return None;
        }
        Some((Type::Range(d), Code::Range(Box::new(l), Box::new(h))))
    }

    fn arithmetic(&mut self, expr: &Expr, op: Arithmetic, left: &Expr, right: &Expr) -> Option<(Type, Code)> {
        let (l, r) = (self.value(left), self.value(right));
        let ((lk, l), (rk, r)) = (l?, r?);
        let (Type::Quantity(a), Type::Quantity(b)) = (lk, rk) else {
            let message = format!("arithmetic needs numbers, found {} and {}", lk.noun(), rk.noun());
            self.error("rule/wrong-type", expr.span, message);
            return None;
        };
        let (ones, others) = (Quantity::new(1.0, a), Quantity::new(1.0, b));
        let result = match op {
            Arithmetic::Add => ones.checked_add(others),
            Arithmetic::Subtract => ones.checked_sub(others),
            Arithmetic::Multiply => ones.checked_mul(others),
            Arithmetic::Divide => ones.checked_div(others),
        };
        let Some(result) = result else {
            let verb = match op {
                Arithmetic::Add => "be added to",
                Arithmetic::Subtract => "be taken from",
                Arithmetic::Multiply => "multiply",
                Arithmetic::Divide => "divide",
            };
            let hint = if a.point && b.point {
                "a temperature and a temperature make a difference by `-` only; write a step in K"
            } else {
                "both sides need the same dimension"
            };
            let message = format!("{} cannot {verb} {}", b.name(), a.name());
            self.error_hint("rule/wrong-dimension", expr.span, message, hint.to_owned());
            return None;
        };
        Some((Type::Quantity(result.dimension), Code::Arithmetic { op, left: Box::new(l), right: Box::new(r) }))
    }

    fn call(&mut self, expr: &Expr, name: &[Word], arguments: &[Expr]) -> Option<(Type, Code)> {
        let called = join(name);
        if let Some(which) = builtin(&called) {
            return self.builtin(expr, which, &called, arguments);
        }
        let Some((inputs, output)) = self.functions.signature(&called) else {
            let known: Vec<&str> = self.functions.names().into_iter().chain(BUILTINS.iter().map(|b| b.0)).collect();
            let hint = nearest(&called, known).map_or_else(
                || "`makeready explain` lists the functions".to_owned(),
                |near| format!("did you mean `{near}`?"),
            );
            self.error_hint("rule/unknown-function", expr.span, format!("no function `{called}`"), hint);
            return None;
        };
        if inputs.len() != arguments.len() {
            let message = format!("`{called}` takes {} arguments, found {}", inputs.len(), arguments.len());
            self.error("rule/argument-count", expr.span, message);
            return None;
        }
        let codes: Vec<Option<Code>> = arguments.iter().zip(&inputs).map(|(a, d)| self.quantity(a, *d)).collect();
        let arguments = codes.into_iter().collect::<Option<Vec<Code>>>()?;
        self.uses.functions.insert(called.clone());
        Some((Type::Quantity(output), Code::Call { name: Arc::from(called.as_str()), inputs, arguments }))
    }

    fn builtin(&mut self, expr: &Expr, which: Builtin, name: &str, arguments: &[Expr]) -> Option<(Type, Code)> {
        let (least, most) = match which {
            Builtin::Min | Builtin::Max => (2, 8),
            Builtin::Clamp | Builtin::Choose | Builtin::ByConsequence => (3, 3),
            Builtin::Round | Builtin::RoundUp | Builtin::RoundDown | Builtin::Given => (2, 2),
            Builtin::Abs | Builtin::Count => (1, 1),
        };
        if arguments.len() < least || arguments.len() > most {
            let usage = BUILTINS.iter().find(|b| b.0 == name).map_or("", |b| b.2);
            let message = format!("`{name}` takes ({usage}), found {} arguments", arguments.len());
            self.error("rule/argument-count", expr.span, message);
            return None;
        }
        let make = |point, arguments| Code::Builtin { which, point, arguments };
        if which == Builtin::Choose {
            let condition = self.condition(arguments.first()?);
            let cases: Vec<&Expr> = arguments.iter().skip(1).collect();
            let (kind, mut same) = self.same(&cases)?;
            same.insert(0, condition?);
            return Some((kind, make(false, same)));
        }
        if which == Builtin::Count {
            let (kind, code) = self.value(arguments.first()?)?;
            if !matches!(kind, Type::List(_)) {
                self.error("rule/wrong-type", expr.span, format!("`count` needs a list, found {}", kind.noun()));
                return None;
            }
            return Some((Type::Quantity(Dimension::NONE), make(false, vec![code])));
        }
        if matches!(which, Builtin::Round | Builtin::RoundUp | Builtin::RoundDown) {
            return self.rounding(which, arguments);
        }
        let cases: Vec<&Expr> = arguments.iter().collect();
        let (kind, codes) = self.same(&cases)?;
        if which == Builtin::ByConsequence {
            return Some((kind, self.for_consequence(expr.span, codes)?));
        }
        if which != Builtin::Given && !matches!(kind, Type::Quantity(_)) {
            self.error("rule/wrong-type", expr.span, format!("`{name}` needs numbers, found {}", kind.noun()));
            return None;
        }
        Some((kind, make(false, codes)))
    }

    /// Lowers arguments that must all be of the first one's type; a word takes the type of its neighbour.
    pub fn same(&mut self, arguments: &[&Expr]) -> Option<(Type, Vec<Code>)> {
        let lowered: Vec<Option<Typed>> = arguments.iter().map(|a| self.any(a)).collect();
        let lowered = lowered.into_iter().collect::<Option<Vec<Typed>>>()?;
        let kind = lowered.iter().find_map(|t| if let Typed::Of(kind, _) = t { Some(*kind) } else { None });
        let Some(kind) = kind else {
            if let Some(Typed::Bare(word)) = lowered.first() {
                self.unknown_root(word);
            }
            return None;
        };
        let mut codes = Vec::new();
        for (typed, argument) in lowered.into_iter().zip(arguments) {
            match typed {
                Typed::Bare(word) => codes.push(self.word(kind, &word)?),
                Typed::Of(found, code) if comparable(kind, found) => codes.push(code),
                Typed::Of(found, _) => {
                    let message = format!("expected {}, found {}", kind.noun(), found.noun());
                    self.error("rule/wrong-dimension", argument.span, message);
                    return None;
                }
            }
        }
        Some((kind, codes))
    }

    fn rounding(&mut self, which: Builtin, arguments: &[Expr]) -> Option<(Type, Code)> {
        let (x, step) = (arguments.first()?, arguments.get(1)?);
        let (kind, code) = self.value(x)?;
        let Type::Quantity(d) = kind else {
            self.error("rule/wrong-type", x.span, format!("only numbers are rounded, found {}", kind.noun()));
            return None;
        };
        let step_dimension = if d.point { Dimension::TEMPERATURE_DIFFERENCE } else { d };
        let step_code = self.quantity(step, step_dimension)?;
        if matches!(step_code.constant(), Some(Val::Number(n)) if n <= 0.0) {
            self.error("rule/number", step.span, "a step is greater than nothing");
            return None;
        }
        Some((kind, Code::Builtin { which, point: d.point, arguments: vec![code, step_code] }))
    }
}

fn comparable(a: Type, b: Type) -> bool {
    a == b && !matches!(a, Type::Range(_) | Type::List(_))
}

/// Chains of `and` (or `or`) become one list, so that evaluation does not nest.
fn flatten(left: Code, right: Code, and: bool) -> Code {
    let mut all = Vec::new();
    for code in [left, right] {
        match (code, and) {
            (Code::And(inner), true) | (Code::Or(inner), false) => all.extend(inner),
            (code, _) => all.push(code),
        }
    }
    if and { Code::And(all) } else { Code::Or(all) }
}
