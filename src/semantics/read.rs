//! From the tree to statements of the vocabulary: which stands where, with which arguments, how often.

use super::arguments::{Arguments, tidied};
use super::checker::Checker;
use super::form::{Body, Context, Entry, Repeat};
use super::names::is_sound_let;
use super::spec::Stated;
use super::values::Values;
use super::vocabulary::{self, HABITS};
use crate::diag::{Diagnostic, Edit, Span, nearest, one_slip};
use crate::syntax::tree::{Block, Statement};

/// A statement of the vocabulary as it was found.
#[derive(Debug)]
pub(crate) struct Found {
    pub entry: &'static Entry,
    /// The statement without its block.
    pub head: Span,
    /// The statement with its block.
    pub span: Span,
    pub values: Values,
    /// An argument was wrong and has been reported; what was read before it is in `values`.
    pub broken: bool,
    /// What stands on its line or in its block.
    pub inner: Vec<Found>,
}

impl Found {
    pub fn is(&self, keyword: &str) -> bool {
        self.entry.keyword == keyword
    }

    pub fn state<T>(&self, value: T) -> Stated<T> {
        Stated { value, span: self.head }
    }

    /// Returns the first inner statement with this keyword.
    pub fn inside(&self, keyword: &str) -> Option<&Found> {
        self.inner.iter().find(|f| f.is(keyword))
    }
}

impl<'t> Checker<'t> {
    /// Reads the statements of a block; those of one keyword that may not be repeated are refused.
    pub(crate) fn read_block(&mut self, statements: &'t [Statement], context: Context) -> Vec<Found> {
        let scoped = matches!(context, Context::Part | Context::Profile);
        if scoped {
            self.open_names(&[(statements, true)]);
        }
        let found = statements.iter().flat_map(|s| self.read_statement(s, context)).collect();
        if scoped {
            self.close_names();
        }
        found
    }

    /// Reads one statement, and those that share its line: a load's may (`force 140 N toward -z`), a part's may not.
    pub(crate) fn read_statement(&mut self, statement: &'t Statement, context: Context) -> Vec<Found> {
        let Some(entry) = vocabulary::find(context, &statement.keyword.text) else {
            self.unknown_keyword(statement, context);
            return Vec::new();
        };
        if is_sound_let(statement) {
            return Vec::new();
        }
        let tidy = tidied(&statement.arguments, entry.form);
        let list = tidy.as_deref().unwrap_or(&statement.arguments);
        let inline = match entry.body {
            Body::InlineOrBlock(inner) => Some(inner),
            _ => Some(context).filter(|c| c.shares_lines()),
        };
        if let Some((at, front, back)) = super::suggestion::stray_assign(list, statement.keyword.span, entry) {
            let without = format!("{} {}", self.sources.text(front), self.sources.text(back));
            let message = format!("`{}` has no `=`", entry.keyword);
            let diagnostic = Diagnostic::error("argument/unexpected", at, message);
            self.report(diagnostic.hint(format!("write `{without}`")));
            let (head, span, values) = (statement.head, statement.span, Values::default());
            return vec![Found { entry, head, span, values, broken: true, inner: Vec::new() }];
        }
        let before = self.diagnostics.len();
        let mut args = Arguments::new(list, statement.keyword.span, entry, inline);
        let mut found = Found {
            entry,
            head: statement.head,
            span: statement.span,
            values: Values::default(),
            broken: false,
            inner: Vec::new(),
        };
        found.broken = self.read_form(entry.form, &mut args, &mut found.values).is_err();
        let mut beside = Vec::new();
        if !found.broken {
            if inline == Some(context) {
                found.head = statement.keyword.span.to(args.last());
                found.span = found.head;
            }
            beside = self.read_inline(&mut args, &mut found.broken);
        }
        if matches!(entry.body, Body::InlineOrBlock(_)) {
            found.inner = std::mem::take(&mut beside);
        }
        self.suggest(statement, context, before, &mut found);
        self.refuse_strange_name(&found);
        self.read_body(statement, &mut found);
        self.refuse_repeats(&found.inner);
        beside.insert(0, found);
        beside
    }

    /// Reads statements on the line of the one they belong to: `fit "p" insert M3 count 2`.
    /// Refuses names that a reader or a command would take for something else.
    fn refuse_strange_name(&mut self, found: &Found) {
        let named = found.entry.repeat == Repeat::OncePerName;
        let name = name_of(found).filter(|_| named).zip(found.entry.form.first());
        let Some((name, super::form::Item::Value(value, _))) = name else { return };
        if let Some(what) = crate::diag::strange_name(name) {
            let message = format!("the name of this {} {what}", found.entry.keyword);
            let at = found.values.span(value).unwrap_or(found.head);
            self.report(
                Diagnostic::error("name/strange", at, message)
                    .hint("write it anew, in letters of one script, digits, blanks and `-`"),
            );
        }
    }

    fn read_inline(&mut self, args: &mut Arguments<'_>, outer_broken: &mut bool) -> Vec<Found> {
        let mut result = Vec::new();
        while let Some(context) = args.inline {
            let Some(next) = args.peek() else { return result };
            let Some(entry) = next.as_word().and_then(|word| vocabulary::find(context, word)) else { break };
            let keyword = next.span;
            args.next();
            args.enter(entry);
            let mut values = Values::default();
            let broken = self.read_form(entry.form, args, &mut values).is_err();
            let span = keyword.to(args.last());
            result.push(Found { entry, head: span, span, values, broken, inner: Vec::new() });
            if broken {
                return result;
            }
        }
        *outer_broken = self.left_over(args).is_err();
        result
    }

    fn read_body(&mut self, statement: &'t Statement, found: &mut Found) {
        let keyword = &statement.keyword.text;
        match (&statement.block, found.entry.body) {
            (Some(block), Body::Block(inner) | Body::InlineOrBlock(inner)) => {
                let before = self.diagnostics.len();
                let statements = self.read_block(&block.statements, inner);
                found.inner.extend(statements);
                // What the fit is may have stood in a statement that was refused.
                found.broken |= inner == Context::Fit && self.diagnostics.len() > before;
            }
            (Some(block), Body::None) => self.unexpected_block(block, found.entry),
            (None, Body::Block(inner)) if !found.broken => {
                let example = found.entry.example;
                let message = format!("`{keyword}` needs a block in braces");
                self.report(
                    Diagnostic::error("block/missing", statement.head, message)
                        .hint(format!("write what belongs to {} in braces: `{example}`", inner.name())),
                );
            }
            (None, _) => {}
        }
    }

    fn unexpected_block(&mut self, block: &Block, entry: &Entry) {
        let open = Span { end: block.span.start + 1, ..block.span };
        let message = format!("`{}` has no block", entry.keyword);
        self.report(Diagnostic::error("block/unexpected", open, message).hint(format!("write `{}`", entry.example)));
    }

    fn unknown_keyword(&mut self, statement: &Statement, context: Context) {
        let word = &statement.keyword;
        if let Some(diagnostic) = self.suggest_unknown(statement, context) {
            self.report(diagnostic);
            return;
        }
        let elsewhere: Vec<Context> =
            Context::ALL.into_iter().filter(|c| vocabulary::find(*c, &word.text).is_some()).collect();
        if let Some(home) = elsewhere.first() {
            self.misplaced(statement, context, *home);
            return;
        }
        let message = format!("unknown statement `{}` in {}", word.text, context.name());
        let mut diagnostic = Diagnostic::error("keyword/unknown", word.span, message);
        let here: Vec<&str> = vocabulary::statements_of(context).map(|e| e.keyword).collect();
        // In a run the printers are those it may use; in a part they are a choice.
        let of_run = Some(("printer", "write `printers Bench, Loft`")).filter(|_| context == Context::Run);
        let habits = of_run.iter().chain(HABITS);
        let habit = habits.into_iter().find(|(habit, _)| habit.eq_ignore_ascii_case(&word.text));
        let near_here = nearest(&word.text, here.iter().copied());
        // Of another block only what is one slip away: `sqare` in a fit is no `stage` of the part.
        let near_elsewhere = nearest(&word.text, vocabulary::VOCABULARY.iter().map(|e| e.keyword))
            .filter(|near| one_slip(&word.text, near));
        diagnostic = match (habit, near_here, near_elsewhere) {
            (Some((_, hint)), ..) => diagnostic.hint(*hint),
            (None, Some(near), _) => diagnostic.meant(near),
            (None, None, Some(near)) => self.meant_elsewhere(diagnostic, statement, near),
            _ => diagnostic.hint(format!("here can stand {}", super::form::list(&here))),
        };
        self.report(diagnostic);
    }

    /// Says which statement of another block was meant, and where that belongs.
    fn meant_elsewhere(&self, diagnostic: Diagnostic, statement: &Statement, near: &str) -> Diagnostic {
        let home = Context::ALL.into_iter().find(|c| vocabulary::find(*c, near).is_some());
        let rest = Span { start: statement.keyword.span.end, ..statement.head };
        let meant = format!("{near}{}", self.sources.text(rest));
        match home {
            Some(Context::Service) if statement.block.is_none() => {
                let whole = format!("service {{ {meant} }}");
                let edit = Edit { span: statement.head, text: whole.clone() };
                diagnostic
                    .hint(format!("did you mean `{near}`? It belongs into `service`: write `{whole}`"))
                    .fix(format!("write `{whole}`"), vec![edit])
            }
            Some(home) => diagnostic.hint(format!("did you mean `{near}`? It belongs into {}", home.name())),
            None => diagnostic.hint(format!("did you mean `{near}`?")),
        }
    }

    fn misplaced(&mut self, statement: &Statement, context: Context, home: Context) {
        let word = &statement.keyword;
        if word.text == "contact"
            && let Some(diagnostic) = self.suggest_contact(statement, context)
        {
            self.report(diagnostic);
            return;
        }
        let written = self.sources.text(statement.head).to_owned();
        if word.text == "temperature" && context == Context::Service {
            let message = "`temperature` belongs into `load`; a service has `air`, `peak` and `usual`";
            let hint = "write `air 5 °C .. 40 °C` for the air about it, `peak 60 °C` for the most it reaches for a while, `usual 20 °C` for most of the time";
            self.report(Diagnostic::error("keyword/misplaced", word.span, message).hint(hint));
            return;
        }
        let message = format!("`{}` belongs into {}, not into {}", word.text, home.name(), context.name());
        let of_a_build = match word.text.as_str() {
            "quantity" => Some("write the count behind the spec: `build \"bracket.partspec\" 24`"),
            "wanted" => Some("write the day behind the spec: `build \"bracket.partspec\" 24 by 2026-12-18`"),
            _ => None,
        };
        if let Some(hint) = of_a_build.filter(|_| context == Context::Run) {
            self.report(Diagnostic::error("keyword/misplaced", word.span, message).hint(hint));
            return;
        }
        let hint = match home {
            Context::File => format!("move `{}` out of all blocks", word.text),
            Context::Service => format!("write `service {{ {written} }}`"),
            Context::Load | Context::Face | Context::Fit => {
                let keyword = home.name().trim_matches('`');
                format!("write `{keyword} \"name\" {{ {written} }}`")
            }
            _ => format!("move it into {}", home.name()),
        };
        self.report(Diagnostic::error("keyword/misplaced", word.span, message).hint(hint));
    }

    /// Refuses what stands twice in one block and may stand but once.
    pub(crate) fn refuse_repeats(&mut self, statements: &[Found]) {
        let mut seen: std::collections::BTreeMap<(&'static str, String), Span> = std::collections::BTreeMap::new();
        for found in statements {
            let name = match found.entry.repeat {
                Repeat::Any => continue,
                Repeat::Once => String::new(),
                Repeat::OncePerName => match name_of(found) {
                    Some(name) => name.to_owned(),
                    None => continue,
                },
            };
            let keyword = found.entry.keyword;
            let Some(first) = seen.get(&(keyword, name.clone())).copied() else {
                seen.insert((keyword, name), found.head);
                continue;
            };
            let (code, what) = if name.is_empty() {
                ("statement/repeated", format!("`{keyword}` stands twice"))
            } else {
                ("name/repeated", format!("{keyword} \"{name}\" stands twice"))
            };
            let hint = if name.is_empty() {
                "leave one of them out".to_owned()
            } else {
                format!("give one {keyword} another name, or leave it out")
            };
            let diagnostic = Diagnostic::error(code, found.head, what).here("again here").label(first, "first here");
            self.report(diagnostic.hint(hint));
        }
    }
}

/// Returns the name a statement gives: its first argument.
pub(crate) fn name_of(found: &Found) -> Option<&str> {
    match found.entry.form.first()? {
        super::form::Item::Value(name, _) => found.values.text(name),
        _ => None,
    }
}
