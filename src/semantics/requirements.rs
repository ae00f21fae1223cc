//! placeholder
use crate::diag::{Sources, Span};
use crate::quantity::Quantity;
use super::spec::Spec;
#[derive(Debug, Clone)]
pub struct Requirement { pub id: String, pub text: String, pub span: Span }
pub fn requirements(_: &Spec, _: &Sources) -> Vec<Requirement> { Vec::new() }
pub fn without(s: &Spec, _: &str) -> Spec { s.clone() }
pub fn relaxed(_: &Spec, _: &str, _: Quantity) -> Option<Spec> { None }
pub fn governing(_: &Spec, _: &str) -> Option<Quantity> { None }
