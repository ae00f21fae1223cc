//! `face`: a named face of the part, and what it must be.

use super::checker::Checker;
use super::read::Found;
use super::spec::Face;
use crate::diag::Diagnostic;

impl Checker<'_> {
    pub(crate) fn face(&mut self, found: &Found) -> Option<Face> {
        let name = found.values.stated_text("name")?;
        let sound = |keyword: &str| found.inside(keyword).filter(|f| !f.broken);
        let says_no = |what: &str| found.inner.iter().any(|f| f.is("no") && f.values.word("what") == Some(what));
        let face = Face {
            toward: sound("toward").and_then(|f| Some(f.state(f.values.direction("direction")?))),
            near: sound("near").and_then(|f| Some(f.state(f.values.point("place")?))),
            cosmetic: sound("cosmetic").is_some(),
            no_support: says_no("support"),
            no_seam: says_no("seam"),
            marking: sound("marking").and_then(|f| f.values.text("text").map(str::to_owned)),
            on_bed: sound("on").is_some(),
            round: sound("round").is_some(),
            name,
            span: found.span,
        };
        let broken = found.broken || found.inner.iter().any(|f| f.broken);
        if !broken && face.toward.is_none() && face.near.is_none() {
            let message = format!("face \"{}\" does not say where it is", face.name.value);
            self.report(
                Diagnostic::error("face/nowhere", found.head, message)
                    .hint("write the way it looks, `toward -x`, or a place on it, `near (170 mm, 30 mm, 40 mm)`"),
            );
        }
        if let Some(round) = sound("round").filter(|_| face.near.is_none()) {
            self.report(
                Diagnostic::error("face/round-nowhere", round.head, "a round face looks every way")
                    .hint("say which is meant by a place on it: `round near (170 mm, 30 mm, 40 mm)`"),
            );
        }
        Some(face)
    }
}
