//! The language server as an editor sees it: the program itself, framed messages on its streams.

use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::workshop::{Workshop, cache_folder};

/// Longer than anything here takes on a machine that others use too: a server that says nothing for so long is stuck.
const PATIENCE: Duration = Duration::from_secs(120);

struct Editor {
    child: Child,
    stdin: Option<ChildStdin>,
    messages: Receiver<Value>,
    /// What came while something else was waited for.
    put_by: Vec<Value>,
    asked: i64,
}

impl Editor {
    /// Starts the server and agrees with it, offering these position encodings.
    fn with(encodings: &[&str]) -> Self {
        let mut editor = Self::fresh();
        let general = json!({ "positionEncodings": encodings });
        let workspace = json!({ "inlayHint": { "refreshSupport": true } });
        let capabilities = json!({ "general": general, "workspace": workspace });
        let agreed =
            editor.ask("initialize", json!({ "processId": null, "rootUri": null, "capabilities": capabilities }));
        assert_eq!(agreed["result"]["serverInfo"]["name"], "makeready");
        editor.tell("initialized", json!({}));
        editor
    }

    fn new() -> Self {
        Self::with(&[])
    }

    fn fresh() -> Self {
        let mut program = Command::new(env!("CARGO_BIN_EXE_makeready"));
        program.arg("lsp").env("MAKEREADY_CACHE", cache_folder());
        let mut child = program.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let (stdin, stdout) = (child.stdin.take(), child.stdout.take().unwrap());
        let (send, messages) = channel();
        std::thread::spawn(move || {
            let mut stdout = BufReader::new(stdout);
            while let Some(message) = framed(&mut stdout) {
                if send.send(message).is_err() {
                    return;
                }
            }
        });
        Self { child, stdin, messages, put_by: Vec::new(), asked: 0 }
    }

    fn send(&mut self, message: &Value) {
        let text = message.to_string();
        let stdin = self.stdin.as_mut().unwrap();
        write!(stdin, "Content-Length: {}\r\n\r\n{text}", text.len()).unwrap();
        stdin.flush().unwrap();
    }

    fn tell(&mut self, method: &str, params: Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    fn send_request(&mut self, method: &str, params: Value) -> i64 {
        self.asked += 1;
        let id = self.asked;
        self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }));
        id
    }

    /// Asks, and returns the whole answer.
    fn ask(&mut self, method: &str, params: Value) -> Value {
        let id = self.send_request(method, params);
        self.answer(id)
    }

    fn answer(&mut self, id: i64) -> Value {
        self.wait(|m| m["id"] == id && m.get("method").is_none())
    }

    /// Returns the first message of a kind, of those put by and those to come.
    fn wait(&mut self, is: impl Fn(&Value) -> bool) -> Value {
        if let Some(at) = self.put_by.iter().position(&is) {
            return self.put_by.remove(at);
        }
        let until = Instant::now() + PATIENCE;
        loop {
            let left = until.saturating_duration_since(Instant::now());
            let message = self.messages.recv_timeout(left).expect("the server says nothing");
            if is(&message) {
                return message;
            }
            self.put_by.push(message);
        }
    }

    fn open(&mut self, path: &Path, text: &str) {
        let document = json!({ "uri": uri(path), "languageId": "partspec", "version": 1, "text": text });
        self.tell("textDocument/didOpen", json!({ "textDocument": document }));
    }

    fn change(&mut self, path: &Path, version: i32, text: &str) {
        let document = json!({ "uri": uri(path), "version": version });
        self.tell("textDocument/didChange", json!({ "textDocument": document, "contentChanges": [{ "text": text }] }));
    }

    /// Waits for the findings of a version of a document that fulfil something; earlier ones are passed over.
    fn findings(&mut self, path: &Path, version: i32, will_do: impl Fn(&[Value]) -> bool) -> Vec<Value> {
        let uri = uri(path);
        let found = self.wait(|m| {
            m["method"] == "textDocument/publishDiagnostics"
                && m["params"]["uri"] == uri
                && m["params"]["version"] == version
                && will_do(m["params"]["diagnostics"].as_array().unwrap())
        });
        found["params"]["diagnostics"].as_array().unwrap().clone()
    }

    /// Waits until a document is compiled.
    fn compiled(&mut self) {
        self.wait(|m| m["method"] == "workspace/inlayHint/refresh");
    }

    fn at(&mut self, method: &str, path: &Path, text: &str, mark: &str) -> Value {
        let position = position(text, text.find(mark).unwrap_or_else(|| panic!("{mark}")));
        self.ask(method, json!({ "textDocument": { "uri": uri(path) }, "position": position, "context": { "includeDeclaration": true } }))
            ["result"]
            .clone()
    }

    fn actions(&mut self, path: &Path, range: &Value) -> Vec<Value> {
        let params = json!({ "textDocument": { "uri": uri(path) }, "range": range, "context": { "diagnostics": [] } });
        self.ask("textDocument/codeAction", params)["result"].as_array().unwrap().clone()
    }

    /// Ends as an editor does, and returns the exit code.
    fn close(mut self) -> i32 {
        let answer = self.ask("shutdown", Value::Null);
        assert_eq!(answer["result"], Value::Null);
        self.tell("exit", Value::Null);
        self.child.wait().unwrap().code().unwrap()
    }
}

impl Drop for Editor {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn framed(from: &mut impl BufRead) -> Option<Value> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if from.read_line(&mut line).ok()? == 0 {
            return None;
        }
        match line.trim() {
            "" => break,
            line => length = line.strip_prefix("Content-Length: ").map_or(length, |n| n.parse().unwrap()),
        }
    }
    let mut bytes = vec![0; length];
    from.read_exact(&mut bytes).ok()?;
    Some(serde_json::from_slice(&bytes).unwrap())
}

fn uri(path: &Path) -> String {
    let path = path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
    let plain = |b: u8| b.is_ascii_alphanumeric() || b"/-._~".contains(&b);
    let encoded = path.to_str().unwrap().bytes();
    let encoded = encoded.map(|b| if plain(b) { char::from(b).to_string() } else { format!("%{b:02X}") });
    format!("file://{}", encoded.collect::<String>())
}

/// A place as UTF-16 has it.
fn position(text: &str, offset: usize) -> Value {
    let before = &text[..offset];
    let line = before.matches('\n').count();
    let column = before.rsplit('\n').next().unwrap().encode_utf16().count();
    json!({ "line": line, "character": column })
}

fn offset(text: &str, position: &Value) -> usize {
    let start: usize = text.split_inclusive('\n').take(position["line"].as_u64().unwrap() as usize).map(str::len).sum();
    let mut left = position["character"].as_u64().unwrap() as usize;
    let mut at = start;
    for c in text[start..].chars() {
        if left == 0 {
            break;
        }
        left -= c.len_utf16();
        at += c.len_utf8();
    }
    at
}

/// The text with an action's edits of it made.
fn edited(text: &str, path: &Path, edit: &Value) -> String {
    let edits = edit["changes"][uri(path)].as_array().unwrap_or_else(|| panic!("{edit}"));
    let mut pieces: Vec<(usize, usize, &str)> = edits
        .iter()
        .map(|e| {
            let (from, to) = (offset(text, &e["range"]["start"]), offset(text, &e["range"]["end"]));
            (from, to, e["newText"].as_str().unwrap())
        })
        .collect();
    pieces.sort_by_key(|(from, ..)| std::cmp::Reverse(*from));
    pieces.into_iter().fold(text.to_owned(), |mut text, (from, to, new)| {
        text.replace_range(from..to, new);
        text
    })
}

fn codes(found: &[Value]) -> Vec<&str> {
    found.iter().map(|d| d["code"].as_str().unwrap()).collect()
}

fn hut() -> (Workshop, PathBuf, String) {
    let made = Workshop::hut();
    let path = made.path("vane-bracket/vane-bracket.partspec").canonicalize().unwrap();
    let text = made.read("vane-bracket/vane-bracket.partspec");
    (made, path, text)
}

#[test]
fn a_misspelt_statement_is_mended_by_its_action() {
    let (_made, path, text) = hut();
    let bad = text.replace("  quantity  2", "  quantiy  2");
    let mut editor = Editor::new();
    editor.open(&path, &bad);
    let found = editor.findings(&path, 1, |_| true);
    assert_eq!(codes(&found), ["keyword/unknown"]);
    assert_eq!(found[0]["range"]["start"], position(&bad, bad.find("quantiy").unwrap()));
    let actions = editor.actions(&path, &found[0]["range"]);
    let mend = actions.iter().find(|a| a["title"] == "write `quantity`").unwrap();
    assert_eq!((&mend["kind"], &mend["isPreferred"]), (&json!("quickfix"), &json!(true)));
    let mended = edited(&bad, &path, &mend["edit"]);
    assert_eq!(mended.replace("quantity  2", ""), text.replace("quantity  2", ""));
    editor.change(&path, 2, &mended);
    assert_eq!(codes(&editor.findings(&path, 2, |_| true)), Vec::<&str>::new());
    assert_eq!(editor.close(), 0);
}

/// A refusal stands at the lines that make it, and its way out is taken by an action; compiled again, the part can be made.
#[test]
fn a_way_out_is_taken_by_its_action() {
    let made = Workshop::hut();
    let spec = "part \"hook\" {\n  mesh \"../coat-hook/coat-hook.stl\" in mm\n  service { air 5 °C .. 140 °C; place indoors }\n  quantity 1\n}\n";
    let made = made.with("jobs/hook.partspec", spec);
    let path = made.path("jobs/hook.partspec").canonicalize().unwrap();
    let mut editor = Editor::new();
    editor.open(&path, spec);
    let found = editor.findings(&path, 1, |found| codes(found).contains(&"spec/cannot-be-made"));
    let refusal = found.iter().find(|d| d["code"] == "spec/cannot-be-made").unwrap();
    assert!(refusal["message"].as_str().unwrap().contains("hint: "), "{refusal}");
    let actions = editor.actions(&path, &refusal["range"]);
    let way = actions.iter().find(|a| a["title"].as_str().unwrap().starts_with("way out: "));
    let way = way.unwrap_or_else(|| panic!("{actions:#?}"));
    let freed = edited(spec, &path, &way["edit"]);
    assert_ne!(freed, spec);
    editor.change(&path, 2, &freed);
    editor.compiled();
    editor.compiled();
    let hints = editor.ask(
        "textDocument/inlayHint",
        json!({ "textDocument": { "uri": uri(&path) }, "range": { "start": { "line": 0, "character": 0 }, "end": { "line": 99, "character": 0 } } }),
    );
    let labels: Vec<&str> = hints["result"].as_array().unwrap().iter().map(|h| h["label"].as_str().unwrap()).collect();
    assert!(labels[0].contains(" on "), "{freed}\n{labels:?}");
    assert_eq!(editor.close(), 0);
}

#[test]
fn hover_says_what_a_word_means_and_what_it_decided() {
    let (_made, path, text) = hut();
    let mut editor = Editor::new();
    editor.open(&path, &text);
    editor.compiled();
    let mut hover = |mark: &str| {
        let said = editor.at("textDocument/hover", &path, &text, mark);
        said["contents"]["value"].as_str().unwrap_or_else(|| panic!("{mark}: {said}")).to_owned()
    };
    let load = hover("load \"gust\"");
    assert!(load.contains("A load, its direction, where it acts and how long"), "{load}");
    assert!(load.contains("gust") && load.contains("Tsai"), "{load}");
    let profile = hover("gable_outdoor {");
    assert!(profile.contains("profile gable_outdoor") && profile.contains("workshop/common.partspec:"), "{profile}");
    let face = hover("seat\" across 24 mm; fixed at face \"plate\"; shock");
    assert!(face.contains("face \"seat\"   toward +z near"), "{face}");
    let part = hover("part \"vane-bracket\"");
    assert!(part.contains("Print ASA (spool asa-grey-1) on Loft"), "{part}");
    let fit = hover("fit \"pivot\"");
    assert!(fit.contains("8 mm") && fit.contains("ISO 286"), "{fit}");
    assert_eq!(editor.close(), 0);
}

#[test]
fn hints_give_the_decision_and_the_margins() {
    let (_made, path, text) = hut();
    let mut editor = Editor::new();
    editor.open(&path, &text);
    editor.compiled();
    let range = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 999, "character": 0 } });
    let hints = editor.ask("textDocument/inlayHint", json!({ "textDocument": { "uri": uri(&path) }, "range": range }));
    let hints = hints["result"].as_array().unwrap();
    let at = |mark: &str| {
        let line = position(&text, text.find(mark).unwrap())["line"].clone();
        let of = hints.iter().find(|h| h["position"]["line"] == line);
        of.map(|h| h["label"].as_str().unwrap().to_owned())
    };
    assert!(at("part \"vane").unwrap().starts_with("→ ASA on Loft, -y down, "), "{hints:#?}");
    let gust = at("load \"gust\"").unwrap();
    assert!(gust.contains(", holds") || gust.contains("not shown"), "{gust}");
    assert_eq!(at("purpose"), None);
    assert_eq!(editor.close(), 0);
}

/// A fit and a load of one name have each their own margins, and a part whose name begins another's its own hover.
#[test]
fn what_is_called_alike_is_told_apart() {
    let text = "part \"pin\" {\n  mesh \"p.stl\" in mm\n  service { place indoors; air 10 °C .. 23 °C }\n  consequence damage\n  \
                face \"root\" toward -x\n  face \"end\" toward +x\n  fit \"pin\" insert M4 along z\n  \
                load \"pin\" { force 2 N toward -z at face \"end\"; fixed at face \"root\"; held 1 day; factor 1.5 }\n}\n\
                part \"pin-long\" {\n  mesh \"p.stl\" in mm\n  service { place indoors; air 10 °C .. 23 °C }\n}\n";
    let made = Workshop::empty().with("p.stl", crate::workshop::shapes::plate_with_hole(5.6));
    let made = made.with("shop.yaml", crate::workshop::one_spool("PETG", "white")).with("p.partspec", text);
    let path = made.path("p.partspec");
    let mut editor = Editor::new();
    editor.open(&path, text);
    editor.compiled();
    let range = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 999, "character": 0 } });
    let hints = editor.ask("textDocument/inlayHint", json!({ "textDocument": { "uri": uri(&path) }, "range": range }));
    let hints = hints["result"].as_array().unwrap();
    let at = |mark: &str| {
        let line = position(text, text.find(mark).unwrap())["line"].clone();
        let of = hints.iter().find(|h| h["position"]["line"] == line);
        of.map(|h| h["tooltip"].as_str().unwrap().to_owned()).unwrap_or_default()
    };
    let (fit, load) = (at("fit \"pin\""), at("load \"pin\""));
    assert!(fit.contains("boss \"pin\"") && !fit.contains("load \"pin\""), "{fit}");
    assert!(load.contains("load \"pin\"") && !load.contains("boss \"pin\""), "{load}");
    let hover = editor.at("textDocument/hover", &path, text, "part \"pin\"");
    let hover = hover["contents"]["value"].as_str().unwrap();
    assert!(hover.contains("**pin**:") && !hover.contains("**pin-long**"), "{hover}");
    assert_eq!(editor.close(), 0);
}

#[test]
fn completion_knows_the_block_the_line_and_the_names() {
    let (_made, path, text) = hut();
    let mut editor = Editor::new();
    editor.open(&path, &text);
    editor.compiled();
    let mut version = 1;
    let mut offered = |line: &str| -> Vec<String> {
        let at = text.find("  wall ").unwrap();
        let half = format!("{}{}\n{}", &text[..at], line.replace('|', ""), &text[at..]);
        version += 1;
        editor.change(&path, version, &half);
        let place = position(&half, at + line.find('|').unwrap());
        let asked = json!({ "textDocument": { "uri": uri(&path) }, "position": place });
        let items = editor.ask("textDocument/completion", asked)["result"].as_array().unwrap().clone();
        items.iter().map(|i| i["label"].as_str().unwrap().to_owned()).collect()
    };
    let has = |all: &[String], these: &[&str]| {
        these.iter().for_each(|one| assert!(all.iter().any(|a| a == one), "{one}: {all:?}"));
    };
    has(&offered("  |"), &["quantity", "load", "pin"]);
    has(&offered("  service { |"), &["air", "sun", "contact"]);
    has(&offered("  service { sun |"), &["none", "shaded", "direct"]);
    has(&offered("  load \"l\" { force 12 |"), &["N", "kN", "lbf"]);
    has(&offered("  load \"l\" { force gust t|"), &["toward", "at", "fixed"]);
    has(&offered("  load \"l\" { force |"), &["gust"]);
    has(&offered("  load \"l\" { fixed at face \"|"), &["plate", "seat"]);
    has(&offered("  deflection at most 2 mm under \"|"), &["gust", "weight"]);
    has(&offered("  pin |"), &["printer", "material", "layer_height"]);
    has(&offered("  pin printer \"|"), &["Bench", "Loft"]);
    has(&offered("  pin spool \"asa|"), &["asa-grey-1"]);
    has(&offered("  waive rule \"|"), &["heat-margin"]);
    has(&offered("  service { contact \"|"), &["diesel", "water"]);
    has(&offered("  mesh \"|"), &["vane-bracket.stl"]);
    // Holes of the mesh, with what they could be for.
    let lines = offered("  |");
    assert!(lines.iter().any(|l| *l == "fit \"holes 2\" clearance M5 medium count 2 along x"), "{lines:?}");
    assert!(offered("  // part |").is_empty());
    assert_eq!(editor.close(), 0);
}

#[test]
fn names_lead_to_where_they_are_given() {
    let (made, path, text) = hut();
    let common = made.path("workshop/common.partspec").canonicalize().unwrap();
    let shop = made.path("shop.yaml").canonicalize().unwrap();
    let text = text.replace("  wall ", "  pin printer \"Loft\" because \"x\"\n  wall ");
    let mut editor = Editor::new();
    editor.open(&path, &text);
    let mut defined = |mark: &str| editor.at("textDocument/definition", &path, &text, mark)[0].clone();
    let seat = defined("seat\" across 24 mm; fixed at face \"plate\"; shock");
    assert_eq!(seat["range"]["start"], position(&text, text.find("face \"seat\"  ").unwrap() + 6));
    let profile = defined("gable_outdoor {");
    assert_eq!(profile["uri"], uri(&common));
    let written = std::fs::read_to_string(&common).unwrap();
    assert_eq!(offset(&written, &profile["range"]["start"]), written.find("gable_outdoor").unwrap());
    assert_eq!(defined("gust toward")["uri"], uri(&common));
    let printer = defined("Loft\"");
    let yaml = std::fs::read_to_string(&shop).unwrap();
    assert_eq!(printer["uri"], uri(&shop));
    assert_eq!(offset(&yaml, &printer["range"]["start"]), yaml.find("name: Loft").unwrap() + 6);
    assert_eq!(defined("vane-bracket.stl")["uri"], uri(&path.with_file_name("vane-bracket.stl")));
    let places =
        editor.at("textDocument/references", &path, &text, "seat\" across 24 mm; fixed at face \"plate\"; shock");
    assert_eq!(places.as_array().unwrap().len(), text.matches("\"seat\"").count());
    assert_eq!(editor.close(), 0);
}

#[test]
fn a_name_is_changed_wherever_it_stands() {
    let (_made, path, text) = hut();
    let mut editor = Editor::new();
    editor.open(&path, &text);
    let mut rename = |mark: &str, new: &str| {
        let place = position(&text, text.find(mark).unwrap());
        editor.ask(
            "textDocument/rename",
            json!({ "textDocument": { "uri": uri(&path) }, "position": place, "newName": new }),
        )
    };
    let edit = rename("seat\" across", "ledge");
    let renamed = edited(&text, &path, &edit["result"]);
    assert_eq!(renamed, text.replace("\"seat\"", "\"ledge\""));
    let refused = rename("seat\" across", "plate");
    assert!(refused["error"]["message"].as_str().unwrap().contains("already"), "{refused}");
    assert!(rename("seat\" across", "a\"b")["error"]["message"].is_string());
    assert!(rename("quantity", "many")["error"]["message"].is_string());
    editor.change(&path, 2, &renamed);
    assert_eq!(codes(&editor.findings(&path, 2, |_| true)), Vec::<&str>::new());
    assert_eq!(editor.close(), 0);
}

#[test]
fn outline_layout_and_colours() {
    let (_made, path, text) = hut();
    let loose = text.replace("  quantity  2", "      quantity    2");
    let mut editor = Editor::new();
    editor.open(&path, &loose);
    let document = json!({ "textDocument": { "uri": uri(&path) } });
    let outline = editor.ask("textDocument/documentSymbol", document.clone())["result"].clone();
    let part = outline.as_array().unwrap().iter().find(|s| s["name"] == "part vane-bracket").unwrap();
    let inner: Vec<&str> = part["children"].as_array().unwrap().iter().map(|s| s["name"].as_str().unwrap()).collect();
    assert!(inner.contains(&"load gust") && inner.contains(&"fit pivot"), "{inner:?}");
    let laid_out = editor.ask(
        "textDocument/formatting",
        json!({ "textDocument": { "uri": uri(&path) }, "options": { "tabSize": 8, "insertSpaces": false } }),
    );
    let new = laid_out["result"][0]["newText"].as_str().unwrap();
    assert!(new.contains("\n  quantity  2\n"), "{new}");
    let tokens = editor.ask("textDocument/semanticTokens/full", document)["result"]["data"].as_array().unwrap().len();
    assert!(tokens > 100 && tokens.is_multiple_of(5), "{tokens}");
    assert_eq!(editor.close(), 0);
}

#[test]
fn rules_and_the_workshop_file_are_read_too() {
    let made = Workshop::hut();
    let yaml = made.read("shop.yaml").replace("enclosed: no", "enclosd: no");
    let path = made.path("shop.yaml").canonicalize().unwrap();
    let mut editor = Editor::new();
    editor.open(&path, &yaml);
    let found = editor.findings(&path, 1, |_| true);
    assert!(codes(&found).contains(&"catalogue/unknown-key"), "{found:?}");
    let range = found.iter().find(|d| d["code"] == "catalogue/unknown-key").unwrap()["range"].clone();
    let actions = editor.actions(&path, &range);
    let mended = edited(&yaml, &path, &actions[0]["edit"]);
    assert!(mended.contains("enclosed: no"), "{mended}");
    editor.change(&path, 2, &mended);
    assert_eq!(codes(&editor.findings(&path, 2, |_| true)), Vec::<&str>::new());
    let hover = editor.at("textDocument/hover", &path, &mended, "nozzle_limit: 290");
    assert!(
        hover["contents"]["value"].as_str().unwrap().contains("materials that print hotter are refused"),
        "{hover}"
    );
    let spool = editor.at("textDocument/definition", &path, &mended, "pla-grey-2, nozzle");
    assert!(spool[0]["range"]["start"]["line"].as_u64().unwrap() > 30, "{spool}");

    let rules = made.path("own.rules");
    let text = "rule \"own\" {\n  when material.heat_limt < 60 °C\n  step prepare 10 \"Sweep the bench.\"\n  because \"x\"\n  source common-practice\n}\n";
    editor.open(&rules, text);
    let found = editor.findings(&rules, 1, |_| true);
    assert!(!found.is_empty(), "{found:?}");
    let sound = text.replace("limt", "limit");
    editor.change(&rules, 2, &sound);
    assert_eq!(codes(&editor.findings(&rules, 2, |_| true)), Vec::<&str>::new());
    let hover = editor.at("textDocument/hover", &rules, &sound, "heat_limit");
    assert!(hover["contents"]["value"].as_str().unwrap().contains("temperature"), "{hover}");
    assert_eq!(editor.close(), 0);
}

/// A shared file that changes in the editor, before it is saved, counts for the spec that uses it.
#[test]
fn an_open_text_counts_for_whoever_uses_it() {
    let (made, path, text) = hut();
    let common = made.path("workshop/common.partspec").canonicalize().unwrap();
    let shared = std::fs::read_to_string(&common).unwrap();
    let mut editor = Editor::new();
    editor.open(&path, &text);
    assert_eq!(codes(&editor.findings(&path, 1, |_| true)), Vec::<&str>::new());
    editor.open(&common, &shared);
    editor.change(&common, 2, &shared.replace("profile gable_outdoor", "profile gable_inside"));
    let found = editor.findings(&path, 1, |found| !found.is_empty());
    assert!(codes(&found).contains(&"profile/unknown"), "{found:?}");
    assert_eq!(editor.close(), 0);
}

#[test]
fn columns_are_those_agreed_on() {
    let made = Workshop::hut();
    let path = made.path("jobs/𝄞.partspec");
    let text = "part \"a\" { purpose \"𝄞µ\"; quantiy 2 }\n";
    for (offer, column) in [(&["utf-16"][..], 26), (&["utf-8", "utf-16"], 29), (&[], 26)] {
        let mut editor = Editor::with(offer);
        editor.open(&path, text);
        let found = editor.findings(&path, 1, |_| true);
        let at = found.iter().find(|d| d["code"] == "keyword/unknown").unwrap();
        assert_eq!(at["range"]["start"]["character"], column, "{offer:?}");
        assert_eq!(editor.close(), 0);
    }
}

#[test]
fn questions_out_of_order_are_answered() {
    let mut editor = Editor::fresh();
    let early = editor.ask("textDocument/hover", json!({}));
    assert_eq!(early["error"]["code"], -32002, "{early}");
    assert!(editor.ask("initialize", json!({ "capabilities": {} }))["result"]["capabilities"].is_object());
    assert_eq!(editor.ask("initialize", json!({ "capabilities": {} }))["error"]["code"], -32600);
    assert_eq!(editor.ask("makeready/nothing", json!({}))["error"]["code"], -32601);
    assert_eq!(editor.ask("textDocument/hover", json!({ "position": 3 }))["error"]["code"], -32602);
    let nowhere =
        json!({ "textDocument": { "uri": "file:///no/such.partspec" }, "position": { "line": 1, "character": 1 } });
    assert_eq!(editor.ask("textDocument/hover", nowhere)["result"], Value::Null);
    // Changes of what is not open, and messages that cannot be read, are passed over.
    editor.tell("textDocument/didChange", json!({ "textDocument": { "uri": "file:///no/such.partspec", "version": 3 }, "contentChanges": [{ "text": "x" }] }));
    editor.tell("textDocument/didOpen", json!({ "nonsense": true }));
    editor.tell("$/anything", json!({}));
    // Two questions at once: each gets its own answer.
    let one = editor.send_request("makeready/one", json!({}));
    let two = editor.send_request("makeready/two", json!({}));
    assert!(editor.answer(two)["error"]["message"].as_str().unwrap().contains("two"));
    assert!(editor.answer(one)["error"]["message"].as_str().unwrap().contains("one"));
    assert_eq!(editor.ask("shutdown", Value::Null)["result"], Value::Null);
    assert_eq!(editor.ask("textDocument/hover", json!({}))["error"]["code"], -32600);
    editor.tell("exit", Value::Null);
    assert_eq!(editor.child.wait().unwrap().code(), Some(0));
}

#[test]
fn a_client_that_dies_leaves_no_process() {
    let (_made, path, text) = hut();
    let mut editor = Editor::new();
    editor.open(&path, &text);
    // The work in the background has begun or is about to.
    editor.findings(&path, 1, |_| true);
    editor.stdin = None;
    assert_eq!(editor.child.wait().unwrap().code(), Some(1));
    let mut editor = Editor::new();
    editor.tell("exit", Value::Null);
    assert_eq!(editor.child.wait().unwrap().code(), Some(1), "it was not asked to shut down");
}

#[test]
fn ten_megabytes_and_a_half_written_file_stop_nothing() {
    let (_made, path, text) = hut();
    let large = path.with_file_name("large.partspec");
    let line = "  load \"gust\" { force 140 N toward -z at (1 mm, 2 mm, 3 mm) }\n";
    let much = format!("part \"large\" {{\n{}}}\n", line.repeat(10_000_000 / line.len()));
    let mut editor = Editor::new();
    editor.open(&large, &much);
    // Asked while it is read: there is an answer, be it none.
    let hover = editor.at("textDocument/hover", &large, &much, "force 140");
    assert_eq!(hover, Value::Null);
    let found = editor.findings(&large, 1, |_| true);
    assert_eq!(codes(&found), ["file/too-large"]);
    editor.tell("textDocument/didClose", json!({ "textDocument": { "uri": uri(&large) } }));
    // Whatever of a text is written so far, it is read, hovered over and completed.
    for (version, end) in (2..).zip((0..text.len()).filter(|&at| text.is_char_boundary(at)).step_by(97)) {
        if version == 2 {
            editor.open(&path, "");
        }
        editor.change(&path, version, &text[..end]);
        let at = position(&text, end);
        let asked = json!({ "textDocument": { "uri": uri(&path) }, "position": at });
        assert!(editor.ask("textDocument/completion", asked.clone())["error"].is_null());
        assert!(editor.ask("textDocument/hover", asked)["error"].is_null());
        editor.findings(&path, version, |_| true);
    }
    assert_eq!(editor.close(), 0);
}
