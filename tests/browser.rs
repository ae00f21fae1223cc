//! Pages in a real browser, where one is installed: nothing hangs over the edge of the paper, every sheet begins a page.

use std::path::Path;
use std::process::Command;

use crate::workshop::Workshop;

/// Programs that draw a page without a screen; `BROWSER_WITHOUT_SCREEN` names another.
const BROWSERS: [&str; 2] = ["chromium", "chromium-browser"];

/// Width between the margins of a sheet of A4, pixels of 1/96 inch.
const PAPER: u32 = 695;

/// Tells what is wider than the page, in an attribute of the body.
const RULER: &str = "<script>addEventListener('load', () => {
  const wide = document.documentElement.clientWidth, over = [];
  for (const e of document.querySelectorAll('body *')) {
    const at = e.getBoundingClientRect();
    const cut = e.matches('td, th, p, li, h1, h2, h3') && e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0;
    if (at.width > 0 && (at.right > wide + 1 || at.left < -1 || cut)) over.push(e.tagName + ': ' + e.textContent.trim().slice(0, 60));
  }
  const blind = [...document.querySelectorAll('svg, img')].filter(e => !e.querySelector('title') && !e.getAttribute('aria-label') && !e.alt);
  document.body.setAttribute('data-ruler', 'looked at ' + document.querySelectorAll('body *').length + '; over ' + over.length + '; without words ' + blind.length + '; ' + over.slice(0, 4).join(' / '));
});</script>";

pub fn browser() -> Option<String> {
    let named = std::env::var("BROWSER_WITHOUT_SCREEN").ok().into_iter();
    let mut all = named.chain(BROWSERS.map(str::to_owned));
    all.find(|name| Command::new(name).arg("--version").output().is_ok_and(|run| run.status.success()))
}

fn run(browser: &str, home: &Path, args: &[&str], page: &Path) -> Vec<u8> {
    shown(browser, home, args, &format!("file://{}", page.display()))
}

/// What a browser prints of the page at an address.
pub fn shown(browser: &str, home: &Path, args: &[&str], address: &str) -> Vec<u8> {
    let profile = format!("--user-data-dir={}", home.join("profile").display());
    let run = Command::new(browser)
        .args([
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--hide-scrollbars",
            &profile,
        ])
        .args(args)
        .arg(address)
        .output()
        .unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    run.stdout
}

/// What the ruler says of a page.
fn measured(browser: &str, home: &Workshop, name: &str, page: &str) -> String {
    let file = format!("ruled-{name}.html");
    home.write(&file, page.replace("</body>", &format!("{RULER}</body>")));
    let size = format!("--window-size={PAPER},1000");
    let drawn = String::from_utf8(run(browser, home.folder(), &["--dump-dom", &size], &home.path(&file))).unwrap();
    let told = drawn.split("data-ruler=\"").nth(1).unwrap_or_else(|| panic!("{name}: the page was not drawn"));
    told.split('"').next().unwrap().to_owned()
}

/// How many pages are printed.
fn printed(browser: &str, home: &Workshop, name: &str, page: &str) -> usize {
    let (file, paper) = (format!("printed-{name}.html"), home.path(&format!("{name}.pdf")));
    home.write(&file, page);
    let to = format!("--print-to-pdf={}", paper.display());
    run(browser, home.folder(), &[&to, "--no-pdf-header-footer"], &home.path(&file));
    let bytes = std::fs::read(&paper).unwrap();
    assert!(bytes.starts_with(b"%PDF-"), "{name}");
    let text = String::from_utf8_lossy(&bytes);
    text.matches("/Type /Page\n").count()
}

#[test]
fn pages_fit_the_paper_and_every_sheet_begins_one() {
    let Some(browser) = browser() else {
        eprintln!("no browser is installed: the pages were not drawn");
        return;
    };
    let home = Workshop::hut();
    let planned = home.run(&["plan", "spring-service/spring-service.runspec"]);
    assert_eq!(planned.code, 0, "{}", planned.stderr);
    let mut pages = vec![
        ("plan", home.read("spring-service/spring-service.plan.html")),
        ("traveller", home.read("spring-service/spring-service.traveller.html")),
    ];
    for part in ["vane-bracket", "coolant-elbow"] {
        pages.push((part, home.run(&["compile", &format!("{part}/{part}.partspec"), "--print", "html"]).stdout));
    }
    for (name, page) in &pages {
        let told = measured(&browser, &home, name, page);
        assert!(told.contains("; over 0; without words 0; "), "{name}: {told}");
        let sheets = page.matches("<h1").count();
        let pages = printed(&browser, &home, name, page);
        assert!(sheets > 0 && pages >= sheets, "{name}: {sheets} sheets on {pages} pages");
    }
}
