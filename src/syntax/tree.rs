//! The tree: statements of a keyword, arguments and perhaps a block. It knows no vocabulary.

use crate::diag::{SourceId, Span};

/// A source file as statements; unreadable parts are left out (and reported by the parser).
#[derive(Debug, Clone, PartialEq)]
pub struct Tree {
    /// The text that all spans of the tree are places in.
    pub source: SourceId,
    /// In the order of the file.
    pub statements: Vec<Statement>,
}

/// A name as written, with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// As it is used: quotes and escapes undone.
    pub text: String,
    /// Where it stands, quotes included.
    pub span: Span,
}

/// One statement: `quantity 24`, or `load "hook" { force 40 N }`.
#[derive(Debug, Clone, PartialEq)]
pub struct Statement {
    /// The first word, which says what the statement is.
    pub keyword: Word,
    /// What follows the keyword up to the end of the line or the block; commas and `=` among them.
    pub arguments: Vec<Expr>,
    /// What stands in braces behind the arguments.
    pub block: Option<Block>,
    /// From the keyword to the end of the arguments, without the block.
    pub head: Span,
    /// From the keyword to the end of the block, where there is one.
    pub span: Span,
}

/// The statements between two braces.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// In the order of the file; those that could not be read are left out.
    pub statements: Vec<Statement>,
    /// From the opening brace to the closing one.
    pub span: Span,
}

/// An expression with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Expr {
    /// What is written.
    pub kind: ExprKind,
    /// Its whole place, parentheses around it included.
    pub span: Span,
}

/// One of the mesh's own axes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Axis {
    /// The mesh's x.
    X,
    /// The mesh's y.
    Y,
    /// The mesh's z, which need not point up in the print.
    Z,
}

/// An operator between two expressions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BinaryOp {
    /// `or`: one of the two holds.
    Or,
    /// `and`: both hold.
    And,
    /// `==`: the same value; quantities are compared in SI.
    Equal,
    /// `!=`: another value.
    NotEqual,
    /// `<`, of quantities of one dimension.
    Less,
    /// `<=`, of quantities of one dimension.
    LessOrEqual,
    /// `>`, of quantities of one dimension.
    Greater,
    /// `>=`, of quantities of one dimension.
    GreaterOrEqual,
    /// `a in [..]` or `a in low .. high`
    In,
    /// `low .. high`
    Range,
    /// `+`, of one dimension, or a temperature and a difference.
    Add,
    /// `-`, of one dimension; of two temperatures it gives a difference.
    Subtract,
    /// `*`, which multiplies units as well.
    Multiply,
    /// `/`, which divides units as well.
    Divide,
}

impl BinaryOp {
    /// Returns the operator as it is written.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Or => "or",
            Self::And => "and",
            Self::Equal => "==",
            Self::NotEqual => "!=",
            Self::Less => "<",
            Self::LessOrEqual => "<=",
            Self::Greater => ">",
            Self::GreaterOrEqual => ">=",
            Self::In => "in",
            Self::Range => "..",
            Self::Add => "+",
            Self::Subtract => "-",
            Self::Multiply => "*",
            Self::Divide => "/",
        }
    }
}

/// What an expression is, as written: names are not looked up and units not read yet.
#[derive(Debug, Clone, PartialEq)]
pub enum ExprKind {
    /// A number as written, with its unit if one stood behind it.
    Number {
        /// In the unit written, not in SI.
        value: f64,
        /// Nothing for a plain number.
        unit: Option<Word>,
    },
    /// A text in double quotes, escapes undone; braces in it are for [`super::text::pieces`].
    Text(String),
    /// A dotted name; a plain word is a name of one part.
    Name(Vec<Word>),
    /// `+x`, `-z`
    Direction {
        /// Along which of the mesh's axes.
        axis: Axis,
        /// Along the axis, not against it.
        positive: bool,
    },
    /// `H7/g6`
    FitPair(String),
    /// `07:00`, a time of day as it is written.
    Clock(String),
    /// `name(a, b)`: what is called, and what it is given.
    Call {
        /// A dotted name, as in [`Self::Name`].
        name: Vec<Word>,
        /// What stands between the parentheses.
        arguments: Vec<Expr>,
    },
    /// `-a`
    Negate(Box<Expr>),
    /// `not a`
    Not(Box<Expr>),
    /// Two expressions and an operator between them.
    Binary {
        /// What joins them.
        op: BinaryOp,
        /// What stands before the operator.
        left: Box<Expr>,
        /// What stands behind it.
        right: Box<Expr>,
    },
    /// `x is known` (or, negated, `x is unknown`)
    Known {
        /// What is asked after.
        of: Box<Expr>,
        /// `is unknown` stands there.
        negated: bool,
    },
    /// `[a, b, c]`
    List(Vec<Expr>),
    /// `(a, b, c)`; a single expression in parentheses is that expression itself
    Tuple(Vec<Expr>),
    /// `=` between arguments, as in `let name = value`
    Assign,
    /// `,` between arguments
    Comma,
}

impl Expr {
    /// Returns the word if this is a plain name of one part.
    pub fn as_word(&self) -> Option<&str> {
        match &self.kind {
            ExprKind::Name(parts) if parts.len() == 1 => parts.first().map(|w| w.text.as_str()),
            _ => None,
        }
    }

    /// Returns what a quoted text says; nothing for any other expression.
    pub fn as_text(&self) -> Option<&str> {
        match &self.kind {
            ExprKind::Text(text) => Some(text),
            _ => None,
        }
    }

    /// Returns every dotted name in the expression.
    pub fn names(&self) -> Vec<&[Word]> {
        let (mut found, mut todo) = (Vec::new(), vec![self]);
        while let Some(expr) = todo.pop() {
            match &expr.kind {
                ExprKind::Name(parts) => found.push(parts.as_slice()),
                ExprKind::Call { arguments, .. } => todo.extend(arguments),
                ExprKind::List(items) | ExprKind::Tuple(items) => todo.extend(items),
                ExprKind::Negate(of) | ExprKind::Not(of) | ExprKind::Known { of, .. } => todo.push(of),
                ExprKind::Binary { left, right, .. } => todo.extend([left.as_ref(), right.as_ref()]),
                _ => {}
            }
        }
        found
    }

    /// Returns the name of everything that is called in the expression.
    pub fn calls(&self) -> Vec<&[Word]> {
        let (mut found, mut todo) = (Vec::new(), vec![self]);
        while let Some(expr) = todo.pop() {
            match &expr.kind {
                ExprKind::Call { name, arguments } => {
                    found.push(name.as_slice());
                    todo.extend(arguments);
                }
                ExprKind::List(items) | ExprKind::Tuple(items) => todo.extend(items),
                ExprKind::Negate(of) | ExprKind::Not(of) | ExprKind::Known { of, .. } => todo.push(of),
                ExprKind::Binary { left, right, .. } => todo.extend([left.as_ref(), right.as_ref()]),
                _ => {}
            }
        }
        found
    }

    /// Returns a noun for messages: what was found here.
    pub fn noun(&self) -> String {
        match &self.kind {
            ExprKind::Number { value, unit: Some(unit) } => match crate::quantity::parse_unit(&unit.text) {
                Some(known) => known.dimension.name(),
                None => format!("`{value} {}`", unit.text),
            },
            ExprKind::Number { .. } => "a bare number".to_owned(),
            ExprKind::Text(_) => "a text".to_owned(),
            ExprKind::Name(parts) => format!("`{}`", join(parts)),
            ExprKind::Direction { .. } => "a direction".to_owned(),
            ExprKind::FitPair(pair) => format!("the fit `{pair}`"),
            ExprKind::Clock(written) => format!("the time of day `{written}`"),
            ExprKind::Call { name, .. } => format!("`{}(..)`", join(name)),
            ExprKind::Binary { op: BinaryOp::Range, .. } => "a range".to_owned(),
            ExprKind::List(_) => "a list".to_owned(),
            ExprKind::Tuple(_) => "a place (x, y, z)".to_owned(),
            ExprKind::Assign => "`=`".to_owned(),
            ExprKind::Comma => "`,`".to_owned(),
            ExprKind::Negate(inner) => inner.noun(),
            ExprKind::Not(_) | ExprKind::Binary { .. } | ExprKind::Known { .. } => "an expression".to_owned(),
        }
    }
}

impl Tree {
    /// Returns the tree with all places alike, so that two can be compared for what they say.
    pub fn without_places(&self) -> Self {
        let mut bare = self.clone();
        let mut todo: Vec<&mut Statement> = bare.statements.iter_mut().collect();
        while let Some(statement) = todo.pop() {
            (statement.span, statement.head) = (NOWHERE, NOWHERE);
            statement.keyword.span = NOWHERE;
            forget_places(&mut statement.arguments);
            if let Some(block) = &mut statement.block {
                block.span = NOWHERE;
                todo.extend(&mut block.statements);
            }
        }
        bare
    }
}

const NOWHERE: Span = Span { source: SourceId(0), start: 0, end: 0 };

fn forget_places(exprs: &mut [Expr]) {
    let mut todo: Vec<&mut Expr> = exprs.iter_mut().collect();
    while let Some(expr) = todo.pop() {
        expr.span = NOWHERE;
        match &mut expr.kind {
            ExprKind::Number { unit, .. } => unit.iter_mut().for_each(|word| word.span = NOWHERE),
            ExprKind::Name(parts) => parts.iter_mut().for_each(|word| word.span = NOWHERE),
            ExprKind::Call { name, arguments } => {
                name.iter_mut().for_each(|word| word.span = NOWHERE);
                todo.extend(arguments);
            }
            ExprKind::Negate(of) | ExprKind::Not(of) | ExprKind::Known { of, .. } => todo.push(of),
            ExprKind::Binary { left, right, .. } => todo.extend([left.as_mut(), right.as_mut()]),
            ExprKind::List(items) | ExprKind::Tuple(items) => todo.extend(items),
            ExprKind::Text(_)
            | ExprKind::Direction { .. }
            | ExprKind::FitPair(_)
            | ExprKind::Clock(_)
            | ExprKind::Assign
            | ExprKind::Comma => {}
        }
    }
}

/// Joins a dotted name for display.
pub fn join(parts: &[Word]) -> String {
    parts.iter().map(|w| w.text.as_str()).collect::<Vec<_>>().join(".")
}
