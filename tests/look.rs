//! The page of `makeready look`: what it refuses, that it follows what is saved, and, where a browser is installed, that it is drawn.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::Value;

use crate::browser;
use crate::workshop::{Workshop, cache_folder};

/// Longer than a spec takes to compile on a machine that others use too.
const PATIENCE: Duration = Duration::from_secs(120);

struct Look {
    child: Child,
    port: u16,
}

impl Look {
    fn at(made: &Workshop, spec: &str) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_makeready"))
            .args(["look", spec])
            .current_dir(made.folder())
            .env("MAKEREADY_CACHE", cache_folder())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let port = line.trim().trim_end_matches('/').rsplit(':').next().unwrap().parse();
        Self { child, port: port.unwrap_or_else(|_| panic!("{line}")) }
    }

    /// Asks as it stands, and returns the code, the head and the body.
    fn raw(&self, request: &str) -> (u16, String, Vec<u8>) {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        stream.write_all(request.as_bytes()).unwrap();
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).unwrap();
        let end = answer.windows(4).position(|w| w == b"\r\n\r\n").unwrap();
        let head = String::from_utf8(answer[..end].to_vec()).unwrap();
        let code = head.split(' ').nth(1).unwrap().parse().unwrap();
        (code, head, answer[end + 4..].to_vec())
    }

    fn ask(&self, path: &str, more: &str) -> (u16, String, Vec<u8>) {
        let host = format!("127.0.0.1:{}", self.port);
        self.raw(&format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n{more}\r\n"))
    }

    fn json(&self, path: &str) -> Value {
        let (code, head, body) = self.ask(path, "");
        assert_eq!(code, 200, "{head}");
        serde_json::from_slice(&body).unwrap_or_else(|e| panic!("{e}: {head}\n{}", String::from_utf8_lossy(&body)))
    }
}

impl Drop for Look {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

const SPEC: &str = "coat-hook/coat-hook.partspec";

#[test]
fn other_hosts_origins_methods_and_paths_are_refused() {
    let look = Look::at(&Workshop::hut(), SPEC);
    let port = look.port;
    let code = |request: &str| look.raw(request).0;
    assert_eq!(look.ask("/", "").0, 200);
    assert_eq!(look.ask("/", &format!("Origin: http://localhost:{port}\r\nSec-Fetch-Site: same-origin\r\n")).0, 200);
    for host in ["elsewhere.example", "127.0.0.1:1", "127.0.0.1"] {
        assert_eq!(code(&format!("GET /state HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n")), 403, "{host}");
    }
    for more in [
        "Origin: http://elsewhere.example\r\n",
        "Origin: null\r\n",
        "Sec-Fetch-Site: cross-site\r\n",
        "Host: other\r\n",
    ] {
        assert_eq!(look.ask("/state", more).0, 403, "{more}");
    }
    let post = format!("POST / HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n");
    assert_eq!(code(&post), 405);
    for path in [
        "/../shop.yaml",
        "/shop.yaml",
        "/%2e%2e/shop.yaml",
        "//etc/hosts",
        "/coat-hook/coat-hook.partspec",
        "/mesh?part=9",
    ] {
        assert_eq!(look.ask(path, "").0, 404, "{path}");
    }
    let (_, head, page) = look.ask("/", "");
    assert!(head.contains("default-src 'none'") && head.contains("no-store"), "{head}");
    assert!(!String::from_utf8(page).unwrap().contains("http://"), "the page fetches nothing from elsewhere");
}

#[test]
fn the_page_follows_what_is_saved() {
    let made = Workshop::hut();
    let look = Look::at(&made, SPEC);
    let state = look.json("/state");
    let shown = &state["parts"][0];
    assert_eq!((state["version"].as_u64(), shown["name"].as_str()), (Some(1), Some("coat-hook")));
    assert!(
        shown["html"].as_str().unwrap().contains("<svg") && !shown["html"].as_str().unwrap().contains("For the review")
    );
    assert!(shown["triangles"]["up"].is_array());
    let mesh = look.ask("/mesh?part=0", "").2;
    assert!(mesh.len() > 36 && mesh.len().is_multiple_of(36), "{}", mesh.len());
    // A finding is shown when it is saved, and gone when it is mended.
    let text = made.read(SPEC);
    let bad = text.replacen("  load", "  laod", 1);
    assert_ne!(bad, text);
    made.write(SPEC, &bad);
    assert_eq!(look.json("/wait?since=1")["version"], 2);
    let state = look.json("/state");
    assert!(state["findings"][0]["hints"][0].as_str().unwrap().contains("load"), "{state}");
    made.write(SPEC, &text);
    assert_eq!(look.json("/wait?since=2")["version"], 3);
    assert_eq!(look.json("/state")["parts"][0]["name"], "coat-hook");
}

#[test]
fn a_number_that_is_moved_is_told_as_explain_tells_it() {
    let made = Workshop::hut();
    let spec = "part \"peg\" {\n  mesh \"coat-hook.stl\" in mm\n  service { air 5 °C .. 30 °C; place indoors; wet dry }\n  quantity 2\n}\n";
    let made = made.with("coat-hook/peg.partspec", spec);
    let look = Look::at(&made, "coat-hook/peg.partspec");
    let numbers = look.json("/numbers");
    let air =
        numbers.as_array().unwrap().iter().position(|n| n["name"].as_str().unwrap().starts_with("air (30 °C")).unwrap();
    assert!(numbers[air]["stretches"].as_array().unwrap().len() > 1, "{numbers}");
    let told = look.json(&format!("/suppose?number={air}&value={}", 273.15 + 70.0));
    let explained = made.run(&["explain", "coat-hook/peg.partspec", "--with", told["line"].as_str().unwrap()]);
    assert!(told["line"].as_str().unwrap().contains("70 °C"), "{told}");
    assert_eq!(told["text"].as_str().unwrap(), explained.stdout, "{}", explained.stderr);
}

/// The page as a browser draws it: the part stands on the canvas, its numbers have sliders with names, nothing went wrong.
#[test]
fn a_browser_draws_the_part() {
    let Some(name) = browser::browser() else {
        eprintln!("no browser is installed: the page was not drawn");
        return;
    };
    let made = Workshop::hut();
    let look = Look::at(&made, SPEC);
    look.json("/state");
    look.json("/numbers");
    let address = format!("http://127.0.0.1:{}/?still", look.port);
    let size = ["--window-size=1200,1000", "--virtual-time-budget=8000", "--enable-unsafe-swiftshader"];
    let drawn = browser::shown(&name, made.folder(), &[&["--dump-dom"], &size[..]].concat(), &address);
    let drawn = String::from_utf8(drawn).unwrap();
    assert!(drawn.contains("data-drawn=\"webgl\"") || drawn.contains("data-drawn=\"flat\""), "{drawn}");
    assert!(drawn.contains("<h1 id=\"name\">coat-hook</h1>"), "{drawn}");
    assert!(drawn.contains("type=\"range\"") && drawn.contains("aria-valuetext"), "{drawn}");
    assert!(drawn.contains("Turn it with the arrow keys"));
}
