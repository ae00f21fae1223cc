//! Texts made to take long: every one is an input that a square (or worse) of its length would show in. Read by the tests of the
//! language, timed by the bench of the compiler.

/// Returns the texts, each of up to a megabyte.
pub fn texts() -> Vec<String> {
    let long = |piece: &str, count: usize| piece.repeat(count);
    vec![
        format!("part \"a\" {{ wall {}1 mm }}", long("1 mm + ", 10_000)),
        format!("part \"a\" {{ wall {}1 mm }}", long("- ", 10_000)),
        format!("part \"a\" {{ wall {}1 mm }}", long("not ", 10_000)),
        format!("let a = {}1", long("a is known and ", 5_000)),
        long("part \"a\" { ", 10_000),
        long("use \"a\" ", 10_000),
        long("}", 5_000),
        long("\"", 20_001),
        long("a", 1_000_000),
        long("wall 2 mm\n", 10_000),
        format!("part \"a\" {{\n{}}}", long("quantity 3\n", 8_000)),
        format!("part \"a\" {{\n{}}}", long("pin material \"A\" because \"x\"\n", 5_000)),
        format!("part \"a\" {{\n{}}}", long("ask toy\n", 8_000)),
        format!("part \"a\" {{ fit \"f\" {} }}", long("count 3 ", 8_000)),
        (0..5_000).map(|i| format!("let a{i} = a{}\n", i + 1)).collect(),
        (0..5_000).map(|i| format!("profile a{i} is a{} {{ }}\n", i + 1)).collect::<String>() + "part \"p\" is a0 { }",
        (0..2_000).map(|i| format!("part \"p{i}\" {{ load \"l\" force 5 N at face \"f{i}\" }}\n")).collect(),
        (0..200).map(|i| format!("profile a{i} is a{}, a{} {{ }}\n", i + 1, i + 1)).collect::<String>()
            + "part \"p\" is a0 { }",
    ]
}
