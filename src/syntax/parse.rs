//! From text to tree by the pest grammar, with recovery at statement and block borders.

use std::sync::LazyLock;

use pest::Parser;
use pest::iterators::Pair;
use pest::pratt_parser::{Assoc, Op, PrattParser};
use pest_derive::Parser;

use super::braces::{self, Lost, Mended};
use super::tree::{Axis, BinaryOp, Block, Expr, ExprKind, Statement, Tree, Word};
use crate::diag::{Diagnostic, Edit, Report, SourceId, Span};

#[derive(Parser)]
#[grammar = "grammar/makeready.pest"]
struct Makeready;

/// Nesting beyond this is refused: nobody writes it, and the walk recurses.
const DEEPEST: usize = 64;

/// More operators in one argument than this are refused: every walk over an expression recurses, also that of `Drop`.
const MOST_OPERATORS: usize = 200;

static PRATT: LazyLock<PrattParser<Rule>> = LazyLock::new(|| {
    PrattParser::new()
        .op(Op::infix(Rule::or_op, Assoc::Left))
        .op(Op::infix(Rule::and_op, Assoc::Left))
        .op(Op::prefix(Rule::not_op))
        .op(Op::infix(Rule::eq_op, Assoc::Left)
            | Op::infix(Rule::ne_op, Assoc::Left)
            | Op::infix(Rule::le_op, Assoc::Left)
            | Op::infix(Rule::ge_op, Assoc::Left)
            | Op::infix(Rule::lt_op, Assoc::Left)
            | Op::infix(Rule::gt_op, Assoc::Left)
            | Op::infix(Rule::in_op, Assoc::Left))
        .op(Op::postfix(Rule::is_known) | Op::postfix(Rule::is_unknown))
        .op(Op::infix(Rule::range_op, Assoc::Left))
        .op(Op::infix(Rule::add_op, Assoc::Left) | Op::infix(Rule::sub_op, Assoc::Left))
        .op(Op::infix(Rule::mul_op, Assoc::Left) | Op::infix(Rule::div_op, Assoc::Left))
        .op(Op::prefix(Rule::neg_op))
});

/// Reads a source text; the tree holds what could be read, the report what could not.
pub fn parse(source: SourceId, text: &str) -> Report<Tree> {
    let report = parse_as_it_stands(source, text, None);
    let unclosed = report.diagnostics.iter().filter(|d| d.code == UNCLOSED).count();
    if unclosed == 0 {
        return report;
    }
    let lost = braces::lost(text);
    // At the end of the text alone it says what the report says.
    if lost.len() != unclosed || lost.iter().all(|l| l.behind == text.len()) {
        return report;
    }
    let mended = braces::mended(text, &lost);
    let mut again = parse_as_it_stands(source, &mended.text, Some((&mended, text)));
    if again.diagnostics.iter().any(|d| d.code == UNCLOSED) {
        return report;
    }
    let told = lost.iter().map(|lost| lost_brace(source, text, lost));
    again.diagnostics.splice(0..0, told);
    again
}

const UNCLOSED: &str = "syntax/unclosed-block";

/// Says of a block that lost its brace where it was to end.
fn lost_brace(source: SourceId, text: &str, lost: &Lost) -> Diagnostic {
    let before = text.get(..lost.open).unwrap_or("");
    let line = before.rsplit(['\n', ';', '{']).next().unwrap_or("").trim_start_matches('\u{FEFF}').trim();
    let keyword = line.split(' ').next().unwrap_or("");
    let open = Span::new(source, lost.open, lost.open + 1);
    let found =
        Diagnostic::error(UNCLOSED, open, format!("the block of `{keyword}` is never closed")).here("opened here");
    let rest = text.get(lost.behind..).unwrap_or("");
    let word: String = rest.chars().take_while(|c| c.is_alphanumeric() || "_-".contains(*c)).collect();
    let word = if rest.starts_with('}') { "}".to_owned() } else { word };
    if word.is_empty() {
        return found.hint("write a `}` where it ends");
    }
    let here = Span::new(source, lost.behind, lost.behind + word.len());
    let (why, before) = match word.as_str() {
        "}" => ("this one closes the block around it", "this one".to_owned()),
        _ => ("set in no further, so it stands behind that block", format!("`{word}`")),
    };
    let begin = text.get(..lost.behind).and_then(|t| t.rfind('\n')).map_or(0, |at| at + 1);
    let edit = Edit { span: Span::new(source, begin, begin), text: format!("{}}}\n", lost.indent) };
    found
        .label(here, why)
        .hint(format!("write a `}}` before {before}"))
        .fix(format!("write a `}}` before {before}"), vec![edit])
}

/// Reads a text, which may be one that was mended, in the places of the text as it was.
fn parse_as_it_stands(source: SourceId, text: &str, mended: Option<(&Mended, &str)>) -> Report<Tree> {
    let mut walk = Walk { source, text, shift: 0, mended, diagnostics: Vec::new() };
    walk.diagnostics.extend(unseen(source, text));
    if let Some(found) = too_deep(text) {
        let span = Span::new(source, found, found + 1);
        walk.diagnostics.push(
            Diagnostic::error("syntax/too-deep", span, format!("blocks or brackets nested more than {DEEPEST} deep"))
                .hint("flatten the statement; a spec needs four levels"),
        );
        return Report { value: None, diagnostics: walk.diagnostics };
    }
    let statements = match Makeready::parse(Rule::file, text) {
        Ok(pairs) => pairs.flat_map(Pair::into_inner).filter_map(|pair| walk.entry(pair)).collect(),
        Err(error) => {
            walk.unreadable(&error);
            Vec::new()
        }
    };
    Report { value: Some(Tree { source, statements }), diagnostics: walk.diagnostics }
}

/// Reads one expression that stands at `offset` of its source (inside the braces of a text, say).
pub fn parse_expression(source: SourceId, text: &str, offset: usize) -> Result<Expr, Diagnostic> {
    let whole = Span::new(source, offset, offset + text.len());
    let refuse = || {
        Diagnostic::error("syntax/expression", whole, format!("`{}` cannot be read as an expression", text.trim()))
            .hint("write a name, a quantity or a comparison, as in `{material.print_temperature}`")
    };
    if too_deep(text).is_some() {
        return Err(refuse());
    }
    let mut walk = Walk { source, text, shift: offset, mended: None, diagnostics: Vec::new() };
    let pair = Makeready::parse(Rule::lone_expr, text)
        .ok()
        .and_then(|mut pairs| pairs.next())
        .and_then(|lone| lone.into_inner().next())
        .filter(|pair| !too_long(pair))
        .ok_or_else(refuse)?;
    let expr = walk.expr(pair);
    match walk.diagnostics.pop() {
        Some(first) => Err(first),
        None => Ok(expr),
    }
}

/// Refuses characters that are not seen but obeyed: by terminals (escape sequences), and by whatever shows a text in
/// another order than it is read (Unicode's embeddings, overrides and isolates).
///
/// Names and texts go to pages, data and terminals as they are, so these end here; the first stands for all of them.
fn unseen(source: SourceId, text: &str) -> Option<Diagnostic> {
    let mut places = text.char_indices().filter_map(|(at, c)| Some((at, c, crate::diag::unseen(c)?)));
    let (at, c, what) = places.next()?;
    let more = match places.count() {
        0 => String::new(),
        1 => "; one more such character follows".to_owned(),
        n => format!("; {n} more such characters follow"),
    };
    let span = Span::new(source, at, at + c.len_utf8());
    let message = format!("the unseen character U+{:04X} {what}{more}", u32::from(c));
    Some(Diagnostic::error("syntax/unseen", span, message).hint("delete it, and write the words around it anew"))
}

/// Returns where the text nests too deep, braces inside strings and comments left out.
fn too_deep(text: &str) -> Option<usize> {
    let mut depth = 0usize;
    let (mut in_string, mut in_comment) = (false, false);
    let mut previous = ' ';
    for (i, c) in text.char_indices() {
        match c {
            '\n' => (in_string, in_comment) = (false, false),
            _ if in_comment => {}
            '"' if previous != '\\' => in_string = !in_string,
            _ if in_string => {}
            '/' if previous == '/' => in_comment = true,
            '{' | '(' | '[' => depth += 1,
            '}' | ')' | ']' => depth = depth.saturating_sub(1),
            _ => {}
        }
        // `not not not ...` and `- - - ...` nest too, but pest's own call limit bounds those.
        if depth > DEEPEST {
            return Some(i);
        }
        previous = c;
    }
    None
}

struct Walk<'a> {
    source: SourceId,
    text: &'a str,
    /// Where `text` begins in its source.
    shift: usize,
    /// Where braces were put into `text`, and the text as it was.
    mended: Option<(&'a Mended, &'a str)>,
    diagnostics: Vec<Diagnostic>,
}

impl Walk<'_> {
    fn span(&self, pair: &Pair<'_, Rule>) -> Span {
        let s = pair.as_span();
        self.place(s.start(), s.start() + s.as_str().trim_end().len())
    }

    /// Returns the place of some bytes of `text` in its source.
    fn place(&self, start: usize, end: usize) -> Span {
        let original = |at: usize| self.mended.map_or(at, |(mended, _)| mended.original(at));
        Span::new(self.source, original(start) + self.shift, original(end) + self.shift)
    }

    fn word(&self, pair: &Pair<'_, Rule>) -> Word {
        Word { text: pair.as_str().to_owned(), span: self.span(pair) }
    }

    fn entry(&mut self, pair: Pair<'_, Rule>) -> Option<Statement> {
        match pair.as_rule() {
            Rule::statement => self.statement(pair),
            Rule::bad => {
                self.bad(&pair);
                None
            }
            Rule::stray_close => {
                let span = self.span(&pair);
                self.diagnostics.push(
                    Diagnostic::error("syntax/stray-brace", span, "a `}` that closes nothing")
                        .hint("remove it, or look for a `{` missing above"),
                );
                None
            }
            _ => None,
        }
    }

    fn statement(&mut self, pair: Pair<'_, Rule>) -> Option<Statement> {
        let span = self.span(&pair);
        let mut keyword = Word { text: String::new(), span };
        let (mut arguments, mut block) = (Vec::new(), None);
        for inner in pair.into_inner() {
            match inner.as_rule() {
                Rule::keyword => keyword = self.word(&inner),
                Rule::block => block = Some(self.block(inner, &keyword)),
                Rule::assign => arguments.push(Expr { kind: ExprKind::Assign, span: self.span(&inner) }),
                Rule::comma => arguments.push(Expr { kind: ExprKind::Comma, span: self.span(&inner) }),
                _ if too_long(&inner) => {
                    self.too_long(&inner);
                    return None;
                }
                _ => arguments.push(self.expr(inner)),
            }
        }
        let head = arguments.last().map_or(keyword.span, |last| keyword.span.to(last.span));
        Some(Statement { keyword, arguments, block, head, span })
    }

    fn too_long(&mut self, pair: &Pair<'_, Rule>) {
        let span = self.span(pair);
        let span = Span { end: span.start + 1, ..span };
        self.diagnostics.push(
            Diagnostic::error(
                "syntax/too-long",
                span,
                format!("an expression of more than {MOST_OPERATORS} operators"),
            )
            .hint("name its parts with `let`, and put them together"),
        );
    }

    fn block(&mut self, pair: Pair<'_, Rule>, keyword: &Word) -> Block {
        let span = self.span(&pair);
        let mut statements = Vec::new();
        for inner in pair.into_inner() {
            match inner.as_rule() {
                Rule::unclosed => {
                    let open = Span { end: span.start + 1, ..span };
                    self.diagnostics.push(
                        Diagnostic::error(UNCLOSED, open, format!("the block of `{}` is never closed", keyword.text))
                            .here("opened here")
                            .hint("write a `}` where it ends"),
                    );
                }
                Rule::close => {}
                _ => statements.extend(self.entry(inner)),
            }
        }
        Block { statements, span }
    }

    fn expr(&mut self, pair: Pair<'_, Rule>) -> Expr {
        let whole = self.span(&pair);
        if pair.as_rule() != Rule::expr {
            return self.primary(pair);
        }
        let mut inner = pair.into_inner();
        if inner.len() == 1
            && let Some(only) = inner.next()
        {
            return self.primary(only);
        }
        // The Pratt parser wants `self` in several closures; collecting spans first keeps the borrows apart.
        let this = std::cell::RefCell::new(self);
        PRATT
            .map_primary(|p| this.borrow_mut().primary(p))
            .map_prefix(|op, operand| {
                let span = this.borrow().span(&op).to(operand.span);
                let kind = if op.as_rule() == Rule::not_op {
                    ExprKind::Not(Box::new(operand))
                } else {
                    ExprKind::Negate(Box::new(operand))
                };
                Expr { kind, span }
            })
            .map_postfix(|operand, op| {
                let span = operand.span.to(this.borrow().span(&op));
                let negated = op.as_rule() == Rule::is_unknown;
                Expr { kind: ExprKind::Known { of: Box::new(operand), negated }, span }
            })
            .map_infix(|left, op, right| {
                let span = left.span.to(right.span);
                let op = binary(op.as_rule());
                Expr { kind: ExprKind::Binary { op, left: Box::new(left), right: Box::new(right) }, span }
            })
            .parse(inner)
            .at_least(whole)
    }

    fn primary(&mut self, pair: Pair<'_, Rule>) -> Expr {
        let span = self.span(&pair);
        let kind = match pair.as_rule() {
            Rule::quantity => self.quantity(pair),
            Rule::string => ExprKind::Text(unescape(&pair)),
            Rule::deviation | Rule::deviations | Rule::surplus => self.deviations(pair, span),
            Rule::direction => direction(pair.as_str()),
            Rule::clock => ExprKind::Clock(pair.as_str().to_owned()),
            Rule::fit_pair => ExprKind::FitPair(pair.as_str().to_owned()),
            Rule::name => ExprKind::Name(pair.into_inner().map(|w| self.word(&w)).collect()),
            Rule::call => self.call(pair),
            Rule::list => {
                let items: Vec<Expr> = pair.into_inner().map(|e| self.expr(e)).collect();
                self.refuse_comma_numbers(&items);
                ExprKind::List(items)
            }
            Rule::tuple => {
                let mut items: Vec<Expr> = pair.into_inner().map(|e| self.expr(e)).collect();
                if items.len() == 1
                    && let Some(only) = items.pop()
                {
                    return Expr { kind: only.kind, span };
                }
                self.refuse_comma_numbers(&items);
                ExprKind::Tuple(items)
            }
            Rule::expr => return self.expr(pair),
            _ => ExprKind::Text(pair.as_str().to_owned()),
        };
        Expr { kind, span }
    }

    /// Limits about a size, as the range they are: from the lower to the upper; `+0.2 mm` alone begins at nothing.
    fn deviations(&mut self, pair: Pair<'_, Rule>, span: Span) -> ExprKind {
        let both = pair.as_rule() == Rule::deviation;
        let mut ends: Vec<Expr> = Vec::new();
        for end in pair.into_inner() {
            let minus = end.as_rule() == Rule::lower;
            let Some(quantity) = (if both { Some(end) } else { end.into_inner().next() }) else { continue };
            let size = self.primary(quantity);
            if minus || both {
                ends.push(Expr { kind: ExprKind::Negate(Box::new(size.clone())), span });
            }
            if !minus {
                ends.push(size);
            }
        }
        // Written upper first, as on a drawing.
        let value = |e: &Expr| match &e.kind {
            ExprKind::Number { value, .. } => *value,
            ExprKind::Negate(of) => match &of.kind {
                ExprKind::Number { value, .. } => -value,
                _ => 0.0,
            },
            _ => 0.0,
        };
        ends.sort_by(|a, b| value(a).total_cmp(&value(b)));
        let mut ends = ends.into_iter();
        let (Some(first), second) = (ends.next(), ends.next()) else { return ExprKind::Comma };
        let (low, high) = match second {
            Some(high) => (first, high),
            None => (nothing_of(&first), first),
        };
        ExprKind::Binary { op: BinaryOp::Range, left: Box::new(low), right: Box::new(high) }
    }

    fn call(&mut self, pair: Pair<'_, Rule>) -> ExprKind {
        let (mut name, mut arguments) = (Vec::new(), Vec::new());
        for inner in pair.into_inner() {
            match inner.as_rule() {
                Rule::name => name = inner.into_inner().map(|w| self.word(&w)).collect(),
                _ => arguments = inner.into_inner().map(|e| self.expr(e)).collect(),
            }
        }
        self.refuse_comma_numbers(&arguments);
        ExprKind::Call { name, arguments }
    }

    fn quantity(&mut self, pair: Pair<'_, Rule>) -> ExprKind {
        let (mut value, mut unit) = (0.0, None);
        for inner in pair.into_inner() {
            match inner.as_rule() {
                Rule::number => value = number(inner.as_str()),
                _ => {
                    // The micro sign and the Greek letter mu look the same and mean the same.
                    unit = Some(Word { text: inner.as_str().replace('μ', "µ"), span: self.span(&inner) });
                }
            }
        }
        ExprKind::Number { value, unit }
    }

    /// `[1,2]` could be one number with a decimal comma or two numbers: it has to be said.
    fn refuse_comma_numbers(&mut self, items: &[Expr]) {
        for item in items {
            let start = (item.span.start as usize).saturating_sub(self.shift);
            let end = (item.span.end as usize).saturating_sub(self.shift);
            let text = self.mended.map_or(self.text, |(_, text)| text);
            let written = text.get(start..end).unwrap_or("");
            if matches!(item.kind, ExprKind::Number { .. }) && written.contains(',') {
                self.diagnostics.push(
                    Diagnostic::error(
                        "number/decimal-comma-in-list",
                        item.span,
                        format!("`{written}` could be one number or two"),
                    )
                    .hint(format!(
                        "write `{}` or `{}`",
                        written.replace(',', "."),
                        written.replace(',', ", ")
                    )),
                );
            }
        }
    }

    /// Says where an unreadable statement stopped making sense, and what usually mends it.
    fn bad(&mut self, pair: &Pair<'_, Rule>) {
        let written = pair.as_str().trim_end();
        let start = pair.as_span().start();
        let stopped = match Makeready::parse(Rule::lone_statement, written) {
            Err(error) => match error.location {
                pest::error::InputLocation::Pos(p) | pest::error::InputLocation::Span((p, _)) => p.min(written.len()),
            },
            Ok(_) => 0,
        };
        let rest = written.get(stopped..).unwrap_or("");
        let skipped = rest.len() - rest.trim_start().len();
        let at = start + stopped + skipped;
        let found = rest.trim_start().chars().next();
        let width = found.map_or(0, char::len_utf8);
        let span = self.place(at, at + width.max(1));
        self.diagnostics.push(diagnose(written, stopped, found, span));
    }

    fn unreadable(&mut self, error: &pest::error::Error<Rule>) {
        let at = match error.location {
            pest::error::InputLocation::Pos(p) | pest::error::InputLocation::Span((p, _)) => p,
        };
        let span = self.place(at, at + 1);
        self.diagnostics.push(
            Diagnostic::error("syntax/unreadable", span, "the text cannot be read from here on")
                .hint("a statement is a keyword, its arguments, and perhaps a block in braces"),
        );
    }
}

impl Expr {
    /// Widens the span to `whole` when the expression was the whole of it (parentheses count).
    fn at_least(mut self, whole: Span) -> Expr {
        self.span = self.span.to(whole);
        self
    }
}

/// Tells whether an argument has more operators, at all depths together, than may be walked.
fn too_long(pair: &Pair<'_, Rule>) -> bool {
    // A quick look at the text settles nearly all: an operator takes a character at least.
    pair.as_str().len() > MOST_OPERATORS
        && pair.clone().into_inner().flatten().filter(|p| is_operator(p.as_rule())).count() > MOST_OPERATORS
}

fn is_operator(rule: Rule) -> bool {
    matches!(
        rule,
        Rule::or_op
            | Rule::and_op
            | Rule::not_op
            | Rule::neg_op
            | Rule::eq_op
            | Rule::ne_op
            | Rule::le_op
            | Rule::ge_op
            | Rule::lt_op
            | Rule::gt_op
            | Rule::in_op
            | Rule::range_op
            | Rule::add_op
            | Rule::sub_op
            | Rule::mul_op
            | Rule::div_op
            | Rule::is_known
            | Rule::is_unknown
    )
}

fn diagnose(written: &str, stopped: usize, found: Option<char>, span: Span) -> Diagnostic {
    let line = written.lines().next().unwrap_or("");
    let error = |message: String| Diagnostic::error("syntax/statement", span, message);
    match found {
        Some('#') => error("`#` does not begin a comment".to_owned()).hint("write `//` before a comment"),
        Some('\'') => error("a text stands in double quotes".to_owned()).hint("write `\"...\"`"),
        Some('"' | '“') if line.matches('"').count() % 2 == 1 => {
            error("a text that is not closed on its line".to_owned()).here("begins here").hint("write the closing `\"`")
        }
        Some(':') => error("unexpected `:`".to_owned())
            .hint("leave it out: a statement is a keyword and its arguments, as in `quantity 24`"),
        Some('{') => error("the block that begins here is never closed".to_owned()).hint("write a `}` where it ends"),
        Some(c) if stopped == 0 => error(format!("a statement begins with a keyword, found `{c}`"))
            .hint("write the keyword first, as in `mesh \"part.stl\" in mm`"),
        // The block before it is over, and another statement begins on the same line.
        Some(c) if c.is_alphabetic() && written.get(..stopped).is_some_and(|t| t.trim_end().ends_with('}')) => {
            error(format!("unexpected `{c}`: another statement begins on the same line"))
                .hint("end the one before it with `;` or a new line")
        }
        Some('>') => error("unexpected `>`".to_owned()).hint("write it in words, as in `wall at least 3 mm`"),
        Some('<') => error("unexpected `<`".to_owned()).hint("write it in words, as in `deflection at most 2 mm`"),
        Some(c) => error(format!("unexpected `{c}`")).hint("a value, a name or the end of the line could stand here"),
        None => error("the statement ends too early".to_owned()).hint("a value is missing at the end of the line"),
    }
}

fn binary(rule: Rule) -> BinaryOp {
    match rule {
        Rule::or_op => BinaryOp::Or,
        Rule::and_op => BinaryOp::And,
        Rule::ne_op => BinaryOp::NotEqual,
        Rule::lt_op => BinaryOp::Less,
        Rule::le_op => BinaryOp::LessOrEqual,
        Rule::gt_op => BinaryOp::Greater,
        Rule::ge_op => BinaryOp::GreaterOrEqual,
        Rule::in_op => BinaryOp::In,
        Rule::range_op => BinaryOp::Range,
        Rule::add_op => BinaryOp::Add,
        Rule::sub_op => BinaryOp::Subtract,
        Rule::mul_op => BinaryOp::Multiply,
        Rule::div_op => BinaryOp::Divide,
        _ => BinaryOp::Equal,
    }
}

fn direction(written: &str) -> ExprKind {
    let axis = match written.chars().last() {
        Some('x' | 'X') => Axis::X,
        Some('y' | 'Y') => Axis::Y,
        _ => Axis::Z,
    };
    ExprKind::Direction { axis, positive: written.starts_with('+') }
}

/// Nothing, in the unit of a quantity.
fn nothing_of(quantity: &Expr) -> Expr {
    match &quantity.kind {
        ExprKind::Number { unit, .. } => {
            Expr { kind: ExprKind::Number { value: 0.0, unit: unit.clone() }, span: quantity.span }
        }
        _ => quantity.clone(),
    }
}

fn number(written: &str) -> f64 {
    // The grammar admits only digits, one separator and an exponent, so this reads; an overflow is infinite and refused later.
    written.replace(',', ".").replace(['−', '–'], "-").parse().unwrap_or(f64::INFINITY)
}

fn unescape(pair: &Pair<'_, Rule>) -> String {
    let raw = pair.as_str();
    let inner = raw.strip_prefix(['"', '“']).and_then(|r| r.strip_suffix(['"', '”'])).unwrap_or(raw);
    if !inner.contains('\\') {
        return inner.to_owned();
    }
    let mut text = String::with_capacity(inner.len());
    let mut chars = inner.chars();
    while let Some(c) = chars.next() {
        match (c, if c == '\\' { chars.next() } else { None }) {
            ('\\', Some('n')) => text.push('\n'),
            ('\\', Some(other @ ('"' | '\\' | '“' | '”'))) => text.push(other),
            // Of a path with backslashes the backslashes are the mistake: they stay, so that they can be told.
            ('\\', Some(other)) => text.extend(['\\', other]),
            (plain, _) => text.push(plain),
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> (Vec<Statement>, Vec<Diagnostic>) {
        let report = parse(SourceId(0), text);
        (report.value.map(|t| t.statements).unwrap_or_default(), report.diagnostics)
    }

    #[test]
    fn characters_that_are_obeyed_unseen_are_refused_at_their_place() {
        for (text, at, says) in [
            ("part \"a\u{1b}[2J\"", 7, "U+001B is a control character"),
            ("part \"a\u{202e}b\"", 7, "U+202E turns the direction"),
            ("// a\u{2066}b\u{2069}", 4, "U+2066 turns the direction of what follows; one more"),
            ("part \"a\" // \0", 12, "U+0000 is a control character"),
        ] {
            let told = parse(SourceId(0), text).diagnostics;
            let told = told.iter().find(|d| d.code == "syntax/unseen").unwrap();
            assert!(told.is_error() && told.message.contains(says), "{}", told.message);
            assert_eq!(told.labels[0].span.start, at, "{text:?}");
        }
        let plain = "\u{FEFF}part \"Käse \u{200f}א\" {\r\n\tquantity 2\n}";
        assert!(parse(SourceId(0), plain).diagnostics.iter().all(|d| d.code != "syntax/unseen"));
    }

    #[test]
    fn a_spec_reads_as_keywords_arguments_and_blocks() {
        let (s, d) = read(
            "use \"a.partspec\"\nlet gust = 140 N\npart \"v\" is outdoor, dark {\n  mesh \"v.stl\" in mm\n  size 180 mm x 60 mm x 40 mm\n  service { air -25 °C .. 30 °C; sun direct for 5 years }\n  load \"g\" { force gust toward -z at face \"seat\"; shock }\n  fit \"p\" bore 8 mm H7/g6 // note\n}\n",
        );
        assert_eq!(d, vec![]);
        assert_eq!(s.len(), 3);
        let part = s[2].block.as_ref().unwrap();
        assert_eq!(part.statements.len(), 5);
        assert_eq!(part.statements[0].arguments.len(), 3);
        assert_eq!(part.statements[1].arguments.len(), 5);
        assert_eq!(part.statements[2].block.as_ref().unwrap().statements.len(), 2);
        let force = &part.statements[3].block.as_ref().unwrap().statements[0];
        assert!(matches!(force.arguments[2].kind, ExprKind::Direction { axis: Axis::Z, positive: false }));
        assert!(matches!(part.statements[4].arguments[3].kind, ExprKind::FitPair(_)));
    }

    #[test]
    fn rules_read_with_precedence() {
        let (s, d) = read(
            "rule \"r\" {\n require material.heat_limit >= service.max + 10 K and\n not nozzle.bore in [0.2 mm, 0.4 mm]\n derive settings.h = clamp(nozzle.bore * 0.5, 0.1 mm, 1 mm)\n when printer.loaded is known and x is not known\n}",
        );
        assert_eq!(d, vec![]);
        let rule = s[0].block.as_ref().unwrap();
        assert_eq!(rule.statements.len(), 3);
        assert!(matches!(&rule.statements[0].arguments[0].kind, ExprKind::Binary { op: BinaryOp::And, .. }));
        assert_eq!(rule.statements[1].arguments.len(), 3);
    }

    #[test]
    fn three_broken_lines_three_errors_neighbours_kept() {
        let (s, d) =
            read("part \"a\" {\n quantity: 3\n mesh 'a.stl'\n load \"x\" ? { force 3 N }\n revision \"B\"\n}\n");
        assert_eq!(d.len(), 3, "{d:?}");
        assert_eq!(s[0].block.as_ref().unwrap().statements.len(), 1);
    }

    #[test]
    fn writing_habits_are_understood() {
        let (s, d) = read("\u{FEFF}wall 0,4 mm\r\nair −25 ℃ … 30 ℃\r\ngap 20 μm\r\n");
        assert_eq!(d, vec![]);
        assert!(matches!(&s[0].arguments[0].kind, ExprKind::Number { value, .. } if (*value - 0.4).abs() < 1e-12));
        assert!(matches!(&s[1].arguments[0].kind, ExprKind::Binary { op: BinaryOp::Range, .. }));
        let (_, d) = read("list [1,2]");
        assert_eq!(d[0].code, "number/decimal-comma-in-list");
    }

    #[test]
    fn every_unit_of_the_table_is_in_the_grammar() {
        for unit in crate::quantity::UNITS {
            let (s, d) = read(&format!("value 3 {}", unit.symbol));
            assert_eq!(d, vec![], "{}", unit.symbol);
            assert!(
                matches!(&s[0].arguments[0].kind, ExprKind::Number { unit: Some(u), .. } if u.text == unit.symbol),
                "{}",
                unit.symbol
            );
        }
    }

    #[test]
    fn deep_nesting_is_refused_not_overflowed() {
        let (_, d) = read(&"a {".repeat(10_000));
        assert_eq!(d[0].code, "syntax/too-deep");
        let (_, d) = read(&format!("a {}", "(".repeat(10_000)));
        assert_eq!(d[0].code, "syntax/too-deep");
        // Long chains of signs or `not` nest without brackets; they must come back too.
        let _ = read(&format!("a {}1", "-".repeat(200)));
    }
}
