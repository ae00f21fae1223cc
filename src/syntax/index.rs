//! The trees of the built-in rule files in a compact form, written when the program is built and read when it starts.
//!
//! Reading rules by the grammar is two thirds of the start-up time, and the built-in texts cannot change after the
//! build. So the build script reads them once and leaves their trees, and the expressions in their texts, with their
//! places. The texts stay in the program: words are taken from them, and reasons point into them. Shared with the
//! build script, hence nothing here but the format.
//!
//! ```text
//! index     = { counted(name) counted(file) }
//! file      = count { ready } count { statement }
//! ready     = place expr
//! statement = place word head-length counted( count { expr } [ place count { statement } ] )
//! expr      = tag place ..
//! word      = tag place [ counted(text) ]
//! place     = start against the start of what it stands in, length
//! ```

use super::text::Ready;
use super::tree::{Axis, BinaryOp, Block, Expr, ExprKind, Statement, Tree, Word};
use crate::diag::{SourceId, Span};
use crate::leb128::{Bytes, put, put_bytes, put_signed};

/// The text is what lies at the place.
const SLICE: u8 = 0;
/// The text is what lies at the place between quotes of a byte each.
const QUOTED: u8 = 1;
/// The text differs from what lies at the place, and follows.
const TEXT: u8 = 2;

const BARE: u8 = 10;
const WITH_UNIT: u8 = 11;
const NAME: u8 = 12;
const DIRECTION: u8 = 13;
const FIT_PAIR: u8 = 14;
const CALL: u8 = 15;
const NEGATE: u8 = 16;
const NOT: u8 = 17;
const BINARY: u8 = 18;
const KNOWN: u8 = 19;
const UNKNOWN: u8 = 20;
const LIST: u8 = 21;
const TUPLE: u8 = 22;
const ASSIGN: u8 = 23;
const COMMA: u8 = 24;
const CLOCK: u8 = 25;

/// Deeper than any tree the parser lets through: brackets and operators together.
const DEEPEST: u32 = 600;

const OPERATORS: [BinaryOp; 14] = [
    BinaryOp::Or,
    BinaryOp::And,
    BinaryOp::Equal,
    BinaryOp::NotEqual,
    BinaryOp::Less,
    BinaryOp::LessOrEqual,
    BinaryOp::Greater,
    BinaryOp::GreaterOrEqual,
    BinaryOp::In,
    BinaryOp::Range,
    BinaryOp::Add,
    BinaryOp::Subtract,
    BinaryOp::Multiply,
    BinaryOp::Divide,
];
const AXES: [Axis; 3] = [Axis::X, Axis::Y, Axis::Z];

/// Appends a file's tree, and the expressions in its texts, to an index.
pub fn write(index: &mut Vec<u8>, name: &str, text: &str, tree: &Tree, ready: &Ready) {
    let mut writer = Writer { out: Vec::new(), text };
    put(&mut writer.out, ready.len() as u64);
    for (at, expr) in ready {
        writer.place(*at, 0);
        writer.expr(expr, at.start);
    }
    writer.statements(&tree.statements, 0);
    put_bytes(index, name.as_bytes());
    put_bytes(index, &writer.out);
}

struct Writer<'a> {
    out: Vec<u8>,
    text: &'a str,
}

impl Writer<'_> {
    fn statements(&mut self, statements: &[Statement], base: u32) {
        put(&mut self.out, statements.len() as u64);
        for statement in statements {
            self.statement(statement, base);
        }
    }

    fn statement(&mut self, statement: &Statement, base: u32) {
        let start = statement.span.start;
        self.place(statement.span, base);
        self.word(&statement.keyword, start);
        self.place(statement.head, start);
        // Behind its length, so that a reader can pass it over.
        let mut rest = Writer { out: Vec::new(), text: self.text };
        rest.exprs(&statement.arguments, start);
        if let Some(block) = &statement.block {
            rest.place(block.span, start);
            rest.statements(&block.statements, block.span.start);
        }
        put_bytes(&mut self.out, &rest.out);
    }

    fn exprs(&mut self, exprs: &[Expr], base: u32) {
        put(&mut self.out, exprs.len() as u64);
        exprs.iter().for_each(|expr| self.expr(expr, base));
    }

    fn expr(&mut self, expr: &Expr, base: u32) {
        let (at, start) = (expr.span, expr.span.start);
        match &expr.kind {
            ExprKind::Number { value, unit } => {
                self.head(if unit.is_some() { WITH_UNIT } else { BARE }, at, base);
                self.out.extend_from_slice(&value.to_le_bytes());
                if let Some(unit) = unit {
                    self.word(unit, start);
                }
            }
            ExprKind::Text(text) => self.written(text, at, base),
            ExprKind::Name(words) => {
                self.head(NAME, at, base);
                self.words(words, start);
            }
            ExprKind::Direction { axis, positive } => {
                self.head(DIRECTION, at, base);
                let axis = AXES.iter().position(|a| a == axis).unwrap_or(0) as u8;
                self.out.push(axis << 1 | u8::from(*positive));
            }
            ExprKind::FitPair(pair) => {
                self.head(FIT_PAIR, at, base);
                put_bytes(&mut self.out, pair.as_bytes());
            }
            ExprKind::Clock(written) => {
                self.head(CLOCK, at, base);
                put_bytes(&mut self.out, written.as_bytes());
            }
            ExprKind::Call { name, arguments } => {
                self.head(CALL, at, base);
                self.words(name, start);
                self.exprs(arguments, start);
            }
            ExprKind::Negate(of) => self.one(NEGATE, at, base, of),
            ExprKind::Not(of) => self.one(NOT, at, base, of),
            ExprKind::Known { of, negated } => self.one(if *negated { UNKNOWN } else { KNOWN }, at, base, of),
            ExprKind::Binary { op, left, right } => {
                self.head(BINARY, at, base);
                self.out.push(OPERATORS.iter().position(|o| o == op).unwrap_or(0) as u8);
                self.expr(left, start);
                self.expr(right, start);
            }
            ExprKind::List(items) => {
                self.head(LIST, at, base);
                self.exprs(items, start);
            }
            ExprKind::Tuple(items) => {
                self.head(TUPLE, at, base);
                self.exprs(items, start);
            }
            ExprKind::Assign => self.head(ASSIGN, at, base),
            ExprKind::Comma => self.head(COMMA, at, base),
        }
    }

    fn one(&mut self, tag: u8, at: Span, base: u32, of: &Expr) {
        self.head(tag, at, base);
        self.expr(of, at.start);
    }

    fn words(&mut self, words: &[Word], base: u32) {
        put(&mut self.out, words.len() as u64);
        words.iter().for_each(|word| self.word(word, base));
    }

    fn word(&mut self, word: &Word, base: u32) {
        self.written(&word.text, word.span, base);
    }

    fn written(&mut self, text: &str, at: Span, base: u32) {
        let (start, end) = (at.start as usize, at.end as usize);
        if self.text.get(start..end) == Some(text) {
            self.head(SLICE, at, base);
        } else if self.text.get(start + 1..end.saturating_sub(1)) == Some(text) {
            self.head(QUOTED, at, base);
        } else {
            self.head(TEXT, at, base);
            put_bytes(&mut self.out, text.as_bytes());
        }
    }

    fn head(&mut self, tag: u8, at: Span, base: u32) {
        self.out.push(tag);
        self.place(at, base);
    }

    fn place(&mut self, at: Span, base: u32) {
        put_signed(&mut self.out, i64::from(at.start) - i64::from(base));
        put(&mut self.out, u64::from(at.end.saturating_sub(at.start)));
    }
}

/// Returns the tree of the file of that name and the expressions in its texts, their places in `source`, statements of
/// the `skipped` keyword left out; nothing where the index does not hold it.
pub fn read(index: &[u8], name: &str, text: &str, source: SourceId, skipped: Option<&str>) -> Option<(Tree, Ready)> {
    let mut files = Bytes(index);
    while !files.is_empty() {
        let (found, file) = (files.counted()?, files.counted()?);
        if found == name.as_bytes() {
            let mut reader = Reader { bytes: Bytes(file), text, source, skipped };
            let count = reader.bytes.length()?;
            let mut ready = Ready::new();
            for _ in 0..count {
                let at = reader.place(0)?;
                ready.insert(at, reader.expr(at.start, 0)?);
            }
            let statements = reader.statements(0, 0)?;
            return Some((Tree { source, statements }, ready));
        }
    }
    None
}

struct Reader<'a> {
    bytes: Bytes<'a>,
    text: &'a str,
    source: SourceId,
    skipped: Option<&'a str>,
}

impl Reader<'_> {
    fn statements(&mut self, base: u32, depth: u32) -> Option<Vec<Statement>> {
        let count = self.bytes.length()?;
        let mut statements = Vec::new();
        for _ in 0..count {
            let span = self.place(base)?;
            let keyword = self.word(span.start)?;
            let head = self.place(span.start)?;
            let rest = self.bytes.counted()?;
            if self.skipped.is_some_and(|s| s == keyword.text) {
                continue;
            }
            let mut rest = Reader { bytes: Bytes(rest), ..*self };
            let arguments = rest.exprs(span.start, depth + 1)?;
            let block = if rest.bytes.is_empty() { None } else { Some(rest.block(span.start, depth + 1)?) };
            statements.push(Statement { keyword, arguments, block, head, span });
        }
        Some(statements)
    }

    fn block(&mut self, base: u32, depth: u32) -> Option<Block> {
        if depth > DEEPEST {
            return None;
        }
        let span = self.place(base)?;
        Some(Block { statements: self.statements(span.start, depth)?, span })
    }

    fn exprs(&mut self, base: u32, depth: u32) -> Option<Vec<Expr>> {
        let count = self.bytes.length()?;
        (0..count).map(|_| self.expr(base, depth)).collect()
    }

    fn expr(&mut self, base: u32, depth: u32) -> Option<Expr> {
        if depth > DEEPEST {
            return None;
        }
        let tag = self.bytes.byte()?;
        let span = self.place(base)?;
        let start = span.start;
        let kind = match tag {
            BARE => ExprKind::Number { value: self.float()?, unit: None },
            WITH_UNIT => ExprKind::Number { value: self.float()?, unit: Some(self.word(start)?) },
            NAME => ExprKind::Name(self.words(start)?),
            DIRECTION => {
                let byte = self.bytes.byte()?;
                ExprKind::Direction { axis: *AXES.get(usize::from(byte >> 1))?, positive: byte & 1 == 1 }
            }
            FIT_PAIR => ExprKind::FitPair(self.following()?),
            CLOCK => ExprKind::Clock(self.following()?),
            CALL => ExprKind::Call { name: self.words(start)?, arguments: self.exprs(start, depth + 1)? },
            NEGATE => ExprKind::Negate(Box::new(self.expr(start, depth + 1)?)),
            NOT => ExprKind::Not(Box::new(self.expr(start, depth + 1)?)),
            KNOWN | UNKNOWN => ExprKind::Known { of: Box::new(self.expr(start, depth + 1)?), negated: tag == UNKNOWN },
            BINARY => {
                let op = *OPERATORS.get(usize::from(self.bytes.byte()?))?;
                let (left, right) = (self.expr(start, depth + 1)?, self.expr(start, depth + 1)?);
                ExprKind::Binary { op, left: Box::new(left), right: Box::new(right) }
            }
            LIST => ExprKind::List(self.exprs(start, depth + 1)?),
            TUPLE => ExprKind::Tuple(self.exprs(start, depth + 1)?),
            ASSIGN => ExprKind::Assign,
            COMMA => ExprKind::Comma,
            _ => ExprKind::Text(self.text_at(tag, span)?),
        };
        Some(Expr { kind, span })
    }

    fn words(&mut self, base: u32) -> Option<Vec<Word>> {
        let count = self.bytes.length()?;
        (0..count).map(|_| self.word(base)).collect()
    }

    fn word(&mut self, base: u32) -> Option<Word> {
        let tag = self.bytes.byte()?;
        let span = self.place(base)?;
        Some(Word { text: self.text_at(tag, span)?, span })
    }

    fn text_at(&mut self, tag: u8, at: Span) -> Option<String> {
        let (start, end) = (at.start as usize, at.end as usize);
        match tag {
            SLICE => self.text.get(start..end).map(str::to_owned),
            QUOTED => self.text.get(start + 1..end.checked_sub(1)?).map(str::to_owned),
            TEXT => self.following(),
            _ => None,
        }
    }

    fn following(&mut self) -> Option<String> {
        std::str::from_utf8(self.bytes.counted()?).ok().map(str::to_owned)
    }

    fn float(&mut self) -> Option<f64> {
        Some(f64::from_le_bytes(self.bytes.take(8)?.try_into().ok()?))
    }

    fn place(&mut self, base: u32) -> Option<Span> {
        let start = u32::try_from(i64::from(base).checked_add(self.bytes.signed()?)?).ok()?;
        let end = start.checked_add(u32::try_from(self.bytes.number()?).ok()?)?;
        (end as usize <= self.text.len()).then_some(Span { source: self.source, start, end })
    }
}

#[cfg(test)]
mod tests {
    use super::super::parse;
    use super::super::text::expressions;
    use super::*;

    const RULE: &str = "// µ before\nrule \"a\" {\n  when material.uv is known and not (part.x in [1 mm, 0,5 µm] or -2 * min(a.b, 3) < 4 .. 5)\n  \
                        derive settings.h = 20 %\n  fit \"p\" bore 8 mm H7/g6 toward -z, (1, 2, 3)\n  otherwise \"say \\\"{max(a, 1 K)}\\\"\"\n  \
                        example fires { part { x 3 } }\n  example quiet { part { x 4 } }\n  x is unknown\n}\nrule b {}\n";

    fn indexed() -> (Vec<u8>, Tree, Ready) {
        let tree = parse(SourceId(3), RULE).value.unwrap();
        let at = Span::new(SourceId(3), 40, 60);
        let ready: Ready = expressions("say {max(a, 1 K)} to {b}", at).unwrap().into_iter().collect();
        let mut index = Vec::new();
        write(&mut index, "other", "", &Tree { source: SourceId(3), statements: Vec::new() }, &Ready::new());
        write(&mut index, "a.rules", RULE, &tree, &ready);
        (index, tree, ready)
    }

    #[test]
    fn what_is_written_is_read_again() {
        let (index, tree, ready) = indexed();
        assert_eq!(tree.statements.len(), 2);
        assert_eq!(read(&index, "a.rules", RULE, SourceId(3), None), Some((tree, ready)));
        assert_eq!(read(&index, "b.rules", RULE, SourceId(3), None), None);
    }

    #[test]
    fn statements_of_one_keyword_can_be_passed_over() {
        let (index, mut tree, ready) = indexed();
        let block = tree.statements[0].block.as_mut().unwrap();
        let before = block.statements.len();
        block.statements.retain(|s| s.keyword.text != "example");
        assert_eq!(block.statements.len(), before - 2);
        assert_eq!(read(&index, "a.rules", RULE, SourceId(3), Some("example")), Some((tree, ready)));
    }

    #[test]
    fn a_broken_index_is_refused_not_trusted() {
        let (index, ..) = indexed();
        for cut in 0..index.len() {
            assert_eq!(read(&index[..cut], "a.rules", RULE, SourceId(3), None), None, "{cut}");
            let mut wrong = index.clone();
            wrong[cut] ^= 0xff;
            // Whatever comes, nothing panics.
            let _ = read(&wrong, "a.rules", RULE, SourceId(3), None);
        }
        assert_eq!(read(&index, "a.rules", "too short", SourceId(3), None), None);
    }
}
