//! `makeready look`: a page on loopback that shows a part while its spec is written.
//!
//! Only this machine is answered, only under the address that was told, and only what is in the short list of [`page::answer`]: no
//! path of a request ever becomes the path of a file.

mod page;
mod state;

use std::sync::Arc;
use std::thread;
use std::time::Duration;

use tiny_http::{Header, Method, Request, Response, Server};

use super::args::LookArgs;
use super::compile::{WORKER_STACK, options};
use super::exit::Exit;
use super::pipeline;
use super::terminal::Terminal;
use super::world::World;
use crate::diag::{Diagnostic, Severity, Sources};
use state::Shown;

/// Requests that are answered at a time: one waits for changes, one solves, the others fetch.
const WORKERS: usize = 4;
/// How often files are looked at for a later change.
const GLANCE: Duration = Duration::from_millis(120);

pub(super) fn run(args: &LookArgs, terminal: &Terminal) -> Result<Exit, Exit> {
    let fail = |found: Diagnostic| {
        terminal.findings(std::slice::from_ref(&found), &Sources::default());
        Exit::Misuse
    };
    let mut options = options(&args.inputs, false);
    options.pictures = true;
    let world = World::around(&args.spec, args.inputs.allow_outside).map_err(fail)?;
    world.asked_for(&args.spec).map_err(fail)?;
    let server = Server::http(("127.0.0.1", args.port)).map_err(|e| {
        let message = format!("port {} can't be listened on: {e}", args.port);
        fail(Diagnostic::new(Severity::Error, "usage/port", message).hint("leave `--port` out for one that is free"))
    })?;
    let port = server.server_addr().to_ip().map_or(0, |address| address.port());
    pipeline::load_knowledge();
    let shown = Arc::new(Shown::new(world, args.spec.clone(), options));
    terminal.result(&format!("http://127.0.0.1:{port}/\n"))?;
    terminal.say("Shown there until Ctrl-C.");
    let server = Arc::new(server);
    let workers: Vec<_> = (1..WORKERS).filter_map(|_| worker(&server, &shown, port)).collect();
    serve(&server, &shown, port);
    drop(workers);
    Ok(Exit::Done)
}

/// Starts a thread that answers; compiling walks trees, and wants the stack for it.
fn worker(server: &Arc<Server>, shown: &Arc<Shown>, port: u16) -> Option<thread::JoinHandle<()>> {
    let (server, shown) = (Arc::clone(server), Arc::clone(shown));
    thread::Builder::new().stack_size(WORKER_STACK).spawn(move || serve(&server, &shown, port)).ok()
}

fn serve(server: &Server, shown: &Shown, port: u16) {
    // What a fault of ours ends is one answer, not the page.
    while let Ok(request) = server.recv() {
        let answer = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| answered(&request, shown, port)));
        let answer = answer.unwrap_or_else(|_| page::Answer::refused(500));
        let _ = request.respond(response(answer));
    }
}

fn answered(request: &Request, shown: &Shown, port: u16) -> page::Answer {
    let header = |name: &'static str| {
        request
            .headers()
            .iter()
            .filter(|h| h.field.equiv(name))
            .map(|h| h.value.as_str().to_owned())
            .collect::<Vec<_>>()
    };
    let hosts = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    // A page of somewhere else whose name was pointed at this machine calls it by that name.
    let host = header("Host");
    if host.len() != 1 || !host.iter().all(|h| hosts.contains(h)) {
        return page::Answer::refused(403);
    }
    let ours = |origin: &String| hosts.iter().any(|h| *origin == format!("http://{h}"));
    let from_here = |site: &String| matches!(site.as_str(), "same-origin" | "none");
    if !header("Origin").iter().all(ours) || !header("Sec-Fetch-Site").iter().all(from_here) {
        return page::Answer::refused(403);
    }
    if *request.method() != Method::Get {
        return page::Answer::refused(405);
    }
    page::answer(request.url(), shown)
}

fn response(answer: page::Answer) -> Response<std::io::Cursor<Vec<u8>>> {
    let headers = [
        ("Content-Type", answer.kind),
        ("Cache-Control", "no-store"),
        ("X-Content-Type-Options", "nosniff"),
        ("Referrer-Policy", "no-referrer"),
        ("Cross-Origin-Resource-Policy", "same-origin"),
        (
            "Content-Security-Policy",
            "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; connect-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'",
        ),
    ];
    let response = Response::from_data(answer.body).with_status_code(answer.code);
    let header = |(name, value): &(&str, &str)| Header::from_bytes(name.as_bytes(), value.as_bytes()).ok();
    headers.iter().filter_map(header).fold(response, Response::with_header)
}
