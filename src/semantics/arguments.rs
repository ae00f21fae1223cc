//! A statement's arguments held against its pattern in the vocabulary.
//!
//! Reading stops at the first mistake of a statement: what follows it would be guesswork and noise.

use super::checker::{Checker, Reported};
use super::evaluate::Constant;
use super::form::{Body, Context, Entry, Item, Kind, list};
use super::spec::Stated;
use super::values::{Value, Values};
use super::vocabulary;
use crate::diag::{Diagnostic, Span, nearest};
use crate::syntax::tree::{BinaryOp, Expr, ExprKind, Word};

/// Arguments not yet read, and the statement they belong to.
pub(crate) struct Arguments<'e> {
    list: &'e [Expr],
    at: usize,
    /// The keyword.
    keyword_span: Span,
    /// Where a missing argument is missed: behind the keyword or the last argument read.
    behind: Span,
    /// How messages call the statement.
    pub keyword: String,
    /// A sound one, for hints.
    pub example: String,
    /// Words that could stand next but for what was found there.
    open: Vec<&'static str>,
    /// What stands in its block, where it must have one.
    block: Option<Context>,
    /// Whether it takes words in order, of which there may be more.
    takes_words: bool,
    /// Statements that may follow on the same line.
    pub inline: Option<Context>,
}

impl<'e> Arguments<'e> {
    pub fn new(list: &'e [Expr], keyword_span: Span, entry: &'static Entry, inline: Option<Context>) -> Self {
        Self {
            list,
            at: 0,
            keyword_span,
            behind: keyword_span,
            keyword: entry.keyword.to_owned(),
            example: entry.example.to_owned(),
            open: Vec::new(),
            block: match entry.body {
                Body::Block(inner) => Some(inner),
                _ => None,
            },
            takes_words: takes_words(entry),
            inline,
        }
    }

    /// Goes on with the arguments of a statement on the same line.
    pub fn enter(&mut self, entry: &'static Entry) {
        self.keyword_span = self.behind;
        self.keyword = entry.keyword.to_owned();
        self.example = entry.example.to_owned();
        self.takes_words = takes_words(entry);
        self.open.clear();
    }

    pub fn peek(&self) -> Option<&'e Expr> {
        self.list.get(self.at)
    }

    pub fn peek_at(&self, ahead: usize) -> Option<&'e Expr> {
        self.list.get(self.at + ahead)
    }

    pub fn next(&mut self) -> Option<&'e Expr> {
        let found = self.list.get(self.at)?;
        self.at += 1;
        self.behind = found.span;
        Some(found)
    }

    /// Returns the span just behind what has been read.
    pub fn end(&self) -> Span {
        Span { start: self.behind.end, ..self.behind }
    }

    /// Returns the span of the last argument read, or of the keyword.
    pub fn last(&self) -> Span {
        self.behind
    }

    /// Returns how many arguments the words of `phrase` take here: 0 if they do not stand here.
    pub fn phrase(&self, phrase: &str) -> usize {
        if phrase == "=" {
            return usize::from(self.peek().is_some_and(|e| matches!(e.kind, ExprKind::Assign)));
        }
        // `in place` is as good as `in-place`, and the other way round.
        let words: Vec<&str> = phrase.split([' ', '-']).collect();
        let apart = words.iter().enumerate().all(|(i, w)| self.peek_at(i).and_then(Expr::as_word) == Some(w));
        if apart {
            return words.len();
        }
        // `fit-prototype` is as good as `fit prototype`.
        let joined = words.len() > 1 && self.peek().and_then(Expr::as_word) == Some(words.join("-").as_str());
        usize::from(joined)
    }

    pub fn skip(&mut self, count: usize) -> Span {
        let start = self.peek().map_or(self.end(), |e| e.span);
        for _ in 0..count {
            self.next();
        }
        start.to(self.behind)
    }
}

/// What the trade calls some of the words, beside their own.
const TRADE: &[(&str, &str)] = &[
    ("ESD", "static dissipation"),
    ("antistatic", "static dissipation"),
    ("conductive", "static dissipation"),
    ("V-0", "flame retardance"),
    ("V0", "flame retardance"),
    ("V-2", "flame retardance"),
    ("FR", "flame retardance"),
    ("UL94", "flame retardance"),
    ("fire", "flame retardance"),
    ("insulating", "electrical insulation"),
    ("transparent", "clear inside"),
    ("soft", "softness"),
    ("inside", "indoors"),
    ("room", "indoors"),
    ("bathroom", "indoors"),
    ("kitchen", "indoors"),
    ("workshop", "indoors"),
    ("cellar", "indoors"),
    ("house", "indoors"),
    ("outside", "outdoors"),
    ("garden", "outdoors"),
    ("roof", "outdoors"),
    ("terrace", "outdoors"),
    ("greenhouse", "behind glass"),
    ("window", "behind glass"),
    ("car", "vehicle cabin"),
    ("stove", "near heat"),
    ("oven", "near heat"),
    ("wet", "rain"),
    ("water", "immersed"),
    ("submerged", "immersed"),
    ("underwater", "immersed"),
    ("moist", "damp"),
    ("humid", "damp"),
];

fn takes_words(entry: &Entry) -> bool {
    entry.form.iter().any(|item| matches!(item, Item::Value(_, Kind::Words(_))))
}

/// Returns the arguments as the patterns want them, where they are written otherwise: `near(1 mm, 2 mm, 3 mm)` as a
/// word and a place, and between sizes `180 mm × 60 mm` as two sizes with an `x`.
pub(crate) fn tidied(arguments: &[Expr], form: &[Item]) -> Option<Vec<Expr>> {
    let sizes = has_sizes(form);
    if !sizes && !arguments.iter().any(|a| place_call(a).is_some()) {
        return None;
    }
    let mut result = Vec::new();
    for argument in arguments {
        if let Some((word, items)) = place_call(argument) {
            let span = Span { start: word.span.end, ..argument.span };
            result.push(Expr { kind: ExprKind::Name(vec![word.clone()]), span: word.span });
            result.push(Expr { kind: ExprKind::Tuple(items.to_vec()), span });
        } else if sizes {
            split_product(argument, &mut result);
        } else {
            result.push(argument.clone());
        }
    }
    Some(result)
}

/// A word with three values in parentheses right behind it, which is no function.
fn place_call(expr: &Expr) -> Option<(&Word, &[Expr])> {
    match &expr.kind {
        ExprKind::Call { name, arguments } if arguments.len() == 3 => match name.as_slice() {
            [word] if !matches!(word.text.as_str(), "min" | "max") => Some((word, arguments)),
            _ => None,
        },
        _ => None,
    }
}

/// The words an optional group can begin with.
fn first_words(items: &'static [Item]) -> Vec<&'static str> {
    match items.first() {
        Some(Item::Word(word) | Item::Noise(word)) => vec![word],
        Some(Item::OneOf(_, words)) => words.to_vec(),
        _ => Vec::new(),
    }
}

/// Returns the only phrase that begins with this word: `food contact` for `food`.
fn longer(word: &str, phrases: &[&'static str]) -> Option<&'static str> {
    let mut matching = phrases.iter().filter(|p| p.strip_prefix(word).is_some_and(|rest| rest.starts_with(' ')));
    let first = matching.next()?;
    matching.next().is_none().then_some(first)
}

fn split_product(expr: &Expr, result: &mut Vec<Expr>) {
    if let ExprKind::Binary { op: BinaryOp::Multiply, left, right } = &expr.kind {
        split_product(left, result);
        let span = Span { start: left.span.end, end: right.span.start, ..expr.span };
        let x = Word { text: "x".to_owned(), span };
        result.push(Expr { kind: ExprKind::Name(vec![x]), span });
        split_product(right, result);
    } else {
        result.push(expr.clone());
    }
}

/// Tells whether the pattern has sizes with an `x` between them.
fn has_sizes(form: &[Item]) -> bool {
    form.contains(&Item::Word("x"))
}

impl Checker<'_> {
    /// Reads arguments by a pattern; what was read before a mistake is kept in `values`.
    pub(crate) fn read_form(
        &mut self,
        form: &'static [Item],
        args: &mut Arguments<'_>,
        values: &mut Values,
    ) -> Result<(), Reported> {
        let mut at = 0;
        while let Some(item) = form.get(at) {
            if matches!(item, Item::Maybe(_)) {
                let run = form[at..].iter().take_while(|i| matches!(i, Item::Maybe(_))).count();
                self.read_optional(&form[at..at + run], args, values)?;
                at += run;
            } else {
                self.read_item(item, args, values)?;
                at += 1;
            }
        }
        Ok(())
    }

    /// Reads neighbouring optional groups in the order in which they stand, each at most once.
    fn read_optional(
        &mut self,
        groups: &'static [Item],
        args: &mut Arguments<'_>,
        values: &mut Values,
    ) -> Result<(), Reported> {
        let mut open: Vec<&'static [Item]> =
            groups.iter().filter_map(|g| if let Item::Maybe(items) = g { Some(*items) } else { None }).collect();
        while let Some(i) = open.iter().position(|items| self.begins(items, args)) {
            let items = open.remove(i);
            self.read_form(items, args, values)?;
        }
        args.open = open.iter().flat_map(|items| first_words(items)).collect();
        Ok(())
    }

    /// Tells whether an optional group begins here.
    fn begins(&self, items: &[Item], args: &Arguments<'_>) -> bool {
        match items.first() {
            Some(Item::Word(word)) => args.phrase(word) > 0,
            Some(Item::Noise(word)) => {
                args.phrase(word) > 0 || items.get(1..).is_some_and(|rest| self.begins(rest, args))
            }
            Some(Item::OneOf(_, words)) => words.iter().any(|w| args.phrase(w) > 0),
            Some(Item::Value(_, kind)) => args.peek().is_some_and(|expr| self.looks_like(*kind, expr)),
            Some(Item::Maybe(_)) | None => false,
        }
    }

    /// Tells whether an argument can be taken for an optional value of this kind.
    fn looks_like(&self, kind: Kind, expr: &Expr) -> bool {
        match kind {
            Kind::HoleSymbolOrPair | Kind::ShaftSymbolOrPair | Kind::HoleSymbol | Kind::ShaftSymbol => {
                matches!(expr.kind, ExprKind::FitPair(_)) || expr.as_word().is_some_and(super::symbols::looks_like_zone)
            }
            Kind::Measure(_) | Kind::Number { .. } | Kind::Count(_) => match &expr.kind {
                ExprKind::Name(_) => expr.as_word().is_some_and(|w| self.names.contains(w)),
                ExprKind::Assign | ExprKind::Comma | ExprKind::Text(_) | ExprKind::Direction { .. } => false,
                _ => true,
            },
            Kind::Range(_) => matches!(expr.kind, ExprKind::Binary { op: BinaryOp::Range, .. }),
            Kind::Text => expr.as_text().is_some(),
            Kind::Clock => matches!(expr.kind, ExprKind::Clock(_)),
            _ => true,
        }
    }

    fn read_item(
        &mut self,
        item: &'static Item,
        args: &mut Arguments<'_>,
        values: &mut Values,
    ) -> Result<(), Reported> {
        match item {
            Item::Noise(word) => {
                let count = args.phrase(word);
                args.skip(count);
                Ok(())
            }
            Item::Word(word) => match args.phrase(word) {
                0 => self.missing_word(word, args),
                count => {
                    args.skip(count);
                    Ok(())
                }
            },
            Item::OneOf(name, words) => {
                let (word, span) = self.read_one_of(words, args)?;
                values.push(name, Value::Word(word), span);
                Ok(())
            }
            Item::Value(name, kind) => {
                if args.peek().is_none() {
                    return self.missing_value(*kind, args);
                }
                let before = args.at;
                let value = self.read_value(name, *kind, args, values)?;
                let span = args.list.get(before).map_or(args.last(), |first| first.span.to(args.last()));
                values.push(name, value, span);
                Ok(())
            }
            Item::Maybe(_) => Ok(()),
        }
    }

    fn read_one_of(
        &mut self,
        words: &'static [&'static str],
        args: &mut Arguments<'_>,
    ) -> Result<(&'static str, Span), Reported> {
        // The longest first: `in model` before `in`.
        let best = words.iter().map(|w| (args.phrase(w), *w)).max_by_key(|(count, w)| (*count, w.len()));
        if let Some((count, word)) = best.filter(|(count, _)| *count > 0) {
            let span = args.skip(count);
            return Ok((word, span));
        }
        let Some(found) = args.peek() else {
            let message = format!("`{}` needs {}", args.keyword, list(words));
            return self.refuse(
                Diagnostic::error("argument/missing", args.last(), message).hint(format!("write `{}`", args.example)),
            );
        };
        let noun = found.noun();
        let mut diagnostic = Diagnostic::error(
            "word/unknown",
            found.span,
            format!("expected {} for `{}`, found {noun}", list(words), args.keyword),
        );
        let written = found.as_word().or(found.as_text());
        // `fod` is nearer to `food`, the beginning of one, than to any whole word.
        let begins = |near: &str| words.iter().copied().find(|w| *w == near || w.split(' ').next() == Some(near));
        let beginnings = words.iter().flat_map(|w| [Some(*w), w.split(' ').next()]).flatten();
        // Names of the trade for one of them, misspelt or not.
        let trade = || TRADE.iter().filter(|(_, of)| words.contains(of));
        let called = written.and_then(|w| nearest(w, beginnings.chain(trade().map(|(name, _)| *name))));
        let near = called.and_then(begins).or_else(|| longer(written?, words));
        let meant = trade().find(|(name, _)| near.is_none() && called == Some(*name));
        if let Some((_, of)) = meant {
            return self.refuse(diagnostic.hint(format!("write `{} {of}`", args.keyword)));
        }
        // Of what can hurt people the mildest word must not be the one that is offered.
        let hurts = written.is_some_and(|w| ["people", "hurt", "injured", "harm", "death", "persons"].contains(&w));
        if hurts && words.contains(&"injury") {
            return self.refuse(diagnostic.hint(format!("write `{} injury`", args.keyword)));
        }
        let quoted = found.as_text().is_some();
        diagnostic = match near {
            Some(near) if quoted && written == Some(near) => {
                diagnostic.hint(format!("write `{near}`, without quotes")).in_place(near)
            }
            Some(near) => diagnostic.meant(near),
            None => diagnostic.hint(self.with_a_word(args, found, words)),
        };
        self.refuse(diagnostic)
    }

    /// The statement as it was written, with the word of the example where another was found.
    fn with_a_word(&self, args: &Arguments<'_>, found: &Expr, words: &[&'static str]) -> String {
        let of_example = |word: &&&str| args.example.ends_with(&format!(" {word}"));
        let word = words.iter().find(of_example).filter(|_| args.at > 0);
        // Which one the example shows is chance: it is no advice.
        let several = words.len() > 1;
        let Some(word) = word else {
            let one = if several { "write one of them, as in" } else { "write" };
            return format!("{one} `{}`", args.example);
        };
        let before = self.sources.text(args.keyword_span.to(args.last()));
        let others: Vec<&str> = words.iter().copied().filter(|w| w != word).collect();
        let or = if others.is_empty() {
            String::new()
        } else {
            format!(", or {} in place of `{}`", list(&others), self.sources.text(found.span))
        };
        format!("write `{before} {word}`{or}")
    }

    fn missing_word(&mut self, word: &str, args: &Arguments<'_>) -> Result<(), Reported> {
        if word == "because" {
            let diagnostic =
                Diagnostic::error("choice/needs-reason", args.last(), format!("`{}` needs a reason", args.keyword))
                    .here("a reason is missing behind this")
                    .hint("write `because \"...\"` behind it: the recipe shows the reason");
            return self.refuse(diagnostic);
        }
        let Some(found) = args.peek() else {
            let message = format!("`{}` ends too early: `{word}` is missing", args.keyword);
            if args.keyword == "colour" {
                let whole = self.sources.text(args.last()).replace('"', "");
                let hint = format!(
                    "write `service {{ colour \"{whole}\" }}` for the colour of the part, `{}` for a second one from a height on",
                    args.example
                );
                return self.refuse(Diagnostic::error("argument/missing", args.last(), message).hint(hint));
            }
            return self.refuse(
                Diagnostic::error("argument/missing", args.last(), message).hint(format!("write `{}`", args.example)),
            );
        };
        let message = format!("expected `{word}` here in `{}`, found {}", args.keyword, found.noun());
        if matches!(found.kind, ExprKind::Comma) {
            let hint = format!("leave the comma out, as in `{}`", args.example);
            return self.refuse(Diagnostic::error("argument/word", found.span, message).hint(hint));
        }
        self.refuse(Diagnostic::error("argument/word", found.span, message).hint(format!("write `{}`", args.example)))
    }

    pub(crate) fn missing_value(&mut self, kind: Kind, args: &Arguments<'_>) -> Result<(), Reported> {
        let message = format!("`{}` needs {}", args.keyword, kind.noun());
        self.refuse(
            Diagnostic::error("argument/missing", args.last(), message).hint(format!("write `{}`", args.example)),
        )
    }

    /// Says that arguments are left over.
    pub(crate) fn left_over(&mut self, args: &Arguments<'_>) -> Result<(), Reported> {
        let Some(found) = args.peek() else { return Ok(()) };
        let written = self.sources.text(found.span).to_owned();
        if let Some(context) = args.inline {
            return self.unknown_clause(context, found, &written, &args.open);
        }
        let message = format!("`{}` takes nothing more, found `{written}`", args.keyword);
        let mut diagnostic = Diagnostic::error("argument/unexpected", found.span, message);
        let near = found.as_word().and_then(|w| nearest(w, args.open.iter().copied()));
        if let Some(near) = near {
            return self.refuse(diagnostic.meant(near));
        }
        if args.keyword == "colour" {
            let whole = self.sources.text(args.last().to(found.span)).replace('"', "");
            return self.refuse(diagnostic.hint(format!("write `colour \"{whole}\"`")));
        }
        if let Some(inner) = args.block
            && found.as_word().is_some_and(|w| vocabulary::find(inner, w).is_some())
        {
            let rest = self.sources.text(found.span.to(args.list.last().map_or(found.span, |e| e.span)));
            let head = self.sources.text(args.keyword_span.to(args.last()));
            return self.refuse(diagnostic.hint(format!("write `{head} {{ {rest} }}`")));
        }
        diagnostic = match vocabulary::VOCABULARY.iter().find(|e| found.as_word() == Some(e.keyword)) {
            Some(entry) if !entry.places.contains(&Context::Rule) => {
                diagnostic.hint(format!("begin `{}` on a line of its own, or behind a `;`", entry.keyword))
            }
            // What else it could take is worth more than what it has.
            _ if !args.open.is_empty() || args.takes_words => diagnostic.hint(format!("write `{}`", args.example)),
            _ => {
                let read = self.sources.text(args.keyword_span.to(args.last()));
                diagnostic.hint(format!("leave it out: `{read}`"))
            }
        };
        self.refuse(diagnostic)
    }

    fn unknown_clause(
        &mut self,
        context: Context,
        found: &Expr,
        written: &str,
        open: &[&'static str],
    ) -> Result<(), Reported> {
        let mut keywords: Vec<&str> = open.to_vec();
        keywords.extend(vocabulary::statements_of(context).map(|e| e.keyword));
        let message = format!("`{written}` cannot stand in {}", context.name());
        let mut diagnostic = Diagnostic::error("argument/unexpected", found.span, message);
        let near = found.as_word().and_then(|w| nearest(w, keywords.iter().copied()));
        diagnostic = match near {
            _ if super::suggestion::clause(context, found, written).is_some() => {
                diagnostic.hint(super::suggestion::clause(context, found, written).unwrap_or_default())
            }
            Some(near) => diagnostic.meant(near),
            None if context == Context::Mesh && vocabulary::MESH_UNITS.contains(&written) => {
                diagnostic.hint(format!("write `in {written}`"))
            }
            None if !open.is_empty() => diagnostic.hint(format!("here can stand {}", list(open))),
            None => diagnostic.hint(format!("here can stand {}", list(&keywords))),
        };
        self.refuse(diagnostic)
    }
}

impl Checker<'_> {
    /// Reads one value of the given kind.
    fn read_value(
        &mut self,
        name: &'static str,
        kind: Kind,
        args: &mut Arguments<'_>,
        values: &Values,
    ) -> Result<Value, Reported> {
        match kind {
            Kind::Text => self.read_text(name, args),
            Kind::Term => self.read_term(args),
            Kind::Name => self.read_name(args),
            Kind::Names => self.read_names(args),
            Kind::Measure(measure) => self.read_measure(&measure, args),
            Kind::Range(measure) => self.read_range(&measure, args),
            Kind::Count(most) => self.read_count(most, args),
            Kind::Number { low, high } => self.read_number(low, high, args),
            Kind::Direction => self.read_direction(args).map(Value::Direction),
            Kind::Point => self.read_point(args).map(Value::Point),
            Kind::Where => self.read_where(args),
            Kind::Thread => self.read_thread(args),
            Kind::HoleSymbol | Kind::ShaftSymbol | Kind::HoleSymbolOrPair | Kind::ShaftSymbolOrPair => {
                self.read_symbol(kind, args)
            }
            Kind::Designation => self.read_designation(args),
            Kind::Date => self.read_date(args),
            Kind::Dates => self.read_dates(args),
            Kind::Clock => self.read_clock(args),
            Kind::Clocks => self.read_clocks(args),
            Kind::Weekdays => self.read_weekdays(args),
            Kind::Words(words) => self.read_words(name, words, args),
            Kind::Decision => self.read_decision(args),
            Kind::Choice => self.read_choice(args, values),
            Kind::Constant => {
                let Some(expr) = args.peek() else { return Ok(Value::Seen) };
                self.refuse_unknown_unit(expr, None, args)?;
                args.next();
                self.evaluate(expr).map(|_| Value::Seen).ok_or(Reported)
            }
            Kind::Free => {
                args.next();
                Ok(Value::Seen)
            }
        }
    }

    fn read_text(&mut self, name: &str, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let Some(expr) = args.peek() else { return Ok(Value::Seen) };
        let text = match (expr.as_text(), expr.as_word()) {
            (Some(text), _) => text.to_owned(),
            (None, Some(word)) if self.names.contains(word) => match self.evaluate(expr) {
                Some(Constant::Text(text)) => text,
                Some(other) => return self.not_a_text(expr, &other.noun(), args),
                None => return Err(Reported),
            },
            _ if name == "because" => {
                // A reason is a sentence: all of it goes between the quotes.
                let rest = self.sources.text(expr.span.to(args.list.last().map_or(expr.span, |e| e.span)));
                let message = format!("the reason of `{}` stands in double quotes", args.keyword);
                let hint = format!("write `because \"{}\"`", rest.replace('"', "'"));
                return self.refuse(Diagnostic::error("argument/text", expr.span, message).hint(hint));
            }
            _ => return self.not_a_text(expr, &expr.noun(), args),
        };
        args.next();
        if text.trim().is_empty() {
            if name == "because" {
                let message = format!("the reason of `{}` is empty", args.keyword);
                let diagnostic = Diagnostic::error("choice/needs-reason", expr.span, message);
                return self.refuse(diagnostic.hint("say why: the recipe shows the reason"));
            }
            let message = format!("the text of `{}` is empty", args.keyword);
            return self.refuse(
                Diagnostic::error("argument/empty", expr.span, message).hint(format!("write `{}`", args.example)),
            );
        }
        Ok(Value::Text(text))
    }

    fn not_a_text<T>(&mut self, expr: &Expr, noun: &str, args: &Arguments<'_>) -> Result<T, Reported> {
        let message = format!("expected a text in double quotes for `{}`, found {noun}", args.keyword);
        let written = self.sources.text(expr.span);
        let quantity = matches!(expr.kind, ExprKind::Number { unit: Some(_), .. });
        let plain =
            !written.contains(['"', '\n']) && !quantity && !matches!(expr.kind, ExprKind::Assign | ExprKind::Comma);
        let hint = if plain { format!("write `\"{written}\"`") } else { format!("write `{}`", args.example) };
        self.refuse(Diagnostic::error("argument/text", expr.span, message).hint(hint))
    }

    /// A word as such, a text, or a name given by `let` to a text.
    pub(crate) fn read_term(&mut self, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let named = args.peek().and_then(Expr::as_word).is_some_and(|w| self.names.contains(w));
        if named { self.read_text("", args) } else { self.read_name(args) }
    }

    fn read_name(&mut self, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let Some(expr) = args.peek() else { return Ok(Value::Seen) };
        let Some(name) = expr.as_word().or(expr.as_text()).map(str::to_owned) else {
            let message = format!("expected a name for `{}`, found {}", args.keyword, expr.noun());
            return self.refuse(
                Diagnostic::error("argument/name", expr.span, message).hint(format!("write `{}`", args.example)),
            );
        };
        args.next();
        Ok(Value::Text(name))
    }

    fn read_names(&mut self, args: &mut Arguments<'_>) -> Result<Value, Reported> {
        let mut names = Vec::new();
        loop {
            let span = args.peek().map_or(args.last(), |e| e.span);
            if args.peek().is_none() {
                return self.missing_value(Kind::Names, args).map(|()| Value::Seen);
            }
            if let Value::Text(value) = self.read_name(args)? {
                if let Some(first) = names.iter().find(|n: &&Stated<String>| n.value == value) {
                    let diagnostic = Diagnostic::error("argument/repeated", span, format!("`{value}` stands twice"));
                    let first = first.span;
                    return self.refuse(
                        diagnostic.here("again here").label(first, "first here").hint("leave one of them out"),
                    );
                }
                names.push(Stated { value, span });
            }
            if !args.peek().is_some_and(|e| matches!(e.kind, ExprKind::Comma)) {
                return Ok(Value::Names(names));
            }
            args.next();
        }
    }

    /// Reads words in order: `strength, then cost`.
    fn read_words(
        &mut self,
        name: &str,
        words: &'static [&'static str],
        args: &mut Arguments<'_>,
    ) -> Result<Value, Reported> {
        let mut found: Vec<(&'static str, Span)> = Vec::new();
        loop {
            let (word, span) = self.read_one_of(words, args)?;
            if let Some((_, first)) = found.iter().find(|(w, _)| *w == word) {
                let diagnostic =
                    Diagnostic::error("argument/repeated", span, format!("`{word}` stands twice in {name}"))
                        .here("again here")
                        .label(*first, "first here")
                        .hint("leave one of them out");
                return self.refuse(diagnostic);
            }
            found.push((word, span));
            let comma = args.peek().is_some_and(|e| matches!(e.kind, ExprKind::Comma));
            if comma {
                args.next();
            }
            let then = args.phrase("then").max(args.phrase("and"));
            args.skip(then);
            if !comma && then == 0 {
                return Ok(Value::Words(found));
            }
        }
    }
}
