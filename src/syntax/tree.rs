//! The tree: statements of a keyword, arguments and perhaps a block. It knows no vocabulary.

use crate::diag::{SourceId, Span};

/// A source file as statements; unreadable parts are left out (and reported by the parser).
#[derive(Debug, Clone, PartialEq)]
pub struct Tree {
    pub source: SourceId,
    pub statements: Vec<Statement>,
}

/// A name as written, with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    pub text: String,
    pub span: Span,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Statement {
    pub keyword: Word,
    pub arguments: Vec<Expr>,
    pub block: Option<Block>,
    /// From the keyword to the end of the arguments, without the block.
    pub head: Span,
    pub span: Span,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    pub statements: Vec<Statement>,
    pub span: Span,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Expr {
    pub kind: ExprKind,
    pub span: Span,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Axis {
    X,
    Y,
    Z,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BinaryOp {
    Or,
    And,
    Equal,
    NotEqual,
    Less,
    LessOrEqual,
    Greater,
    GreaterOrEqual,
    /// `a in [..]` or `a in low .. high`
    In,
    /// `low .. high`
    Range,
    Add,
    Subtract,
    Multiply,
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

#[derive(Debug, Clone, PartialEq)]
pub enum ExprKind {
    /// A number as written, with its unit if one stood behind it.
    Number {
        value: f64,
        unit: Option<Word>,
    },
    Text(String),
    /// A dotted name; a plain word is a name of one part.
    Name(Vec<Word>),
    /// `+x`, `-z`
    Direction {
        axis: Axis,
        positive: bool,
    },
    /// `H7/g6`
    FitPair(String),
    Call {
        name: Vec<Word>,
        arguments: Vec<Expr>,
    },
    Negate(Box<Expr>),
    Not(Box<Expr>),
    Binary {
        op: BinaryOp,
        left: Box<Expr>,
        right: Box<Expr>,
    },
    /// `x is known` (or, negated, `x is unknown`)
    Known {
        of: Box<Expr>,
        negated: bool,
    },
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

/// Joins a dotted name for display.
pub fn join(parts: &[Word]) -> String {
    parts.iter().map(|w| w.text.as_str()).collect::<Vec<_>>().join(".")
}
