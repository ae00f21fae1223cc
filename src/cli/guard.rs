//! Our bug is not the user's mistake: a panic ends in a message that says so, and in an exit code of its own.

use std::panic::{self, AssertUnwindSafe, PanicHookInfo};

use super::exit::Exit;

/// Runs the work; where it panics, says that this is a bug in makeready and asks for the input.
pub(super) fn guarded(work: impl FnOnce() -> Exit) -> Exit {
    panic::set_hook(Box::new(|info| eprintln!("{}", complaint(info))));
    panic::catch_unwind(AssertUnwindSafe(work)).unwrap_or(Exit::OurBug)
}

fn complaint(info: &PanicHookInfo<'_>) -> String {
    let payload = info.payload();
    let what = payload
        .downcast_ref::<&str>()
        .map(|s| (*s).to_owned())
        .or_else(|| payload.downcast_ref::<String>().cloned())
        .unwrap_or_else(|| "no message".to_owned());
    // Only the file's own name: the folders are those of the machine it was built on.
    let place = info.location().map_or_else(String::new, |l| {
        let file = l.file().rsplit(['/', '\\']).next().unwrap_or("");
        format!(" ({file}:{})", l.line())
    });
    format!(
        "internal error: {what}{place}\n\
         This is a bug in makeready, not a mistake in your input; nothing was written for the part at hand.\n\
         Please report it with this message, the command, and the files it was given."
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_is_our_bug() {
        assert_eq!(guarded(|| panic!("on purpose, by a test")), Exit::OurBug);
        assert_eq!(guarded(|| Exit::Wrong), Exit::Wrong);
        let _ = panic::take_hook();
    }
}
