//! YAML as the library writes it, for data whose keys are plain words: it looks at every key as at any text, which is two fifths
//! of what a recipe costs to write. What it is needed for (texts in quotes or folded, fractions) it still does.

use std::fmt::Display;

use serde::ser::{self, Impossible, Serialize, SerializeMap, SerializeSeq, SerializeStruct};

/// Returns data as the library would write it; `None` where a key is no plain word, or the data of a form that no recipe has.
pub(super) fn written<T: Serialize + ?Sized>(data: &T) -> Option<String> {
    let mut writer = Writer { out: String::new(), column: 0, after: After::Nothing };
    data.serialize(&mut writer).ok()?;
    Some(writer.out)
}

/// What stands before the value that is to be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum After {
    /// The start of the document.
    Nothing,
    Key,
    /// The dash of a list.
    Dash,
}

struct Writer {
    out: String,
    /// Where the key or the dash stands that the value belongs to.
    column: usize,
    after: After,
}

/// It cannot be written here.
#[derive(Debug)]
struct Elsewhere;

impl Display for Elsewhere {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("written by the library")
    }
}

impl std::error::Error for Elsewhere {}

impl ser::Error for Elsewhere {
    fn custom<T: Display>(_: T) -> Self {
        Self
    }
}

type Done = Result<(), Elsewhere>;

/// A text longer than this may be folded.
const FOLDED_BEYOND: usize = 80;

/// Whether a text is one that every reader takes for a text, on one line and without quotes. Of some that are, it says no.
fn is_plain(text: &str) -> bool {
    let inner = |b: u8| b.is_ascii_alphanumeric() || b" _-./(),;+%".contains(&b);
    let bytes = text.as_bytes();
    let ends = |b: Option<&u8>, letter: bool| b.is_some_and(|b| b.is_ascii_alphabetic() || !letter && *b != b' ');
    text.len() <= FOLDED_BEYOND
        && ends(bytes.first(), true)
        && ends(bytes.last(), false)
        && bytes.iter().all(|b| inner(*b))
        && !is_a_word_of_yaml(text)
}

/// Whether it is a word that stands for something else than a text.
fn is_a_word_of_yaml(text: &str) -> bool {
    const WORDS: &[&str] = &["null", "true", "false", "yes", "no", "on", "off", "y", "n", "nan", "inf"];
    text.len() <= 5 && WORDS.iter().any(|word| text.eq_ignore_ascii_case(word))
}

impl Writer {
    fn scalar(&mut self, text: impl Display) -> Done {
        use std::fmt::Write;
        let before = if self.after == After::Nothing { "" } else { " " };
        writeln!(self.out, "{before}{text}").map_err(|_| Elsewhere)
    }

    fn text(&mut self, text: &str) -> Done {
        if is_plain(text) && self.after != After::Nothing {
            self.out.extend([" ", text, "\n"]);
            return Ok(());
        }
        // As the only entry of a list its further lines are indented as below a key.
        let written = serde_yaml::to_string(&[text]).map_err(|_| Elsewhere)?;
        let value = written.strip_prefix('-').filter(|_| self.after != After::Nothing).ok_or(Elsewhere)?;
        let indent = " ".repeat(self.column);
        for (i, line) in value.split_inclusive('\n').enumerate() {
            if i > 0 && line != "\n" {
                self.out.push_str(&indent);
            }
            self.out.push_str(line);
        }
        Ok(())
    }

    /// Begins the entry of a map; the first after a dash stands beside it.
    fn key(&mut self, entries: &mut Entries, key: &str) -> Done {
        if !key.bytes().all(|b| b.is_ascii_lowercase() || b == b'_' || b == b'-')
            || key.is_empty()
            || is_a_word_of_yaml(key)
        {
            return Err(Elsewhere);
        }
        match (entries.begun, entries.after) {
            (false, After::Dash) => self.out.push(' '),
            (false, After::Key) => {
                self.out.push('\n');
                self.indent(entries.column);
            }
            (true, _) | (false, After::Nothing) => self.indent(entries.column),
        }
        entries.begun = true;
        self.out.push_str(key);
        self.out.push(':');
        (self.column, self.after) = (entries.column, After::Key);
        Ok(())
    }

    fn indent(&mut self, column: usize) {
        (0..column).for_each(|_| self.out.push(' '));
    }

    fn entries(&mut self) -> Compound<'_> {
        let column = if self.after == After::Nothing { 0 } else { self.column + 2 };
        let entries = Entries { column, after: self.after, begun: false };
        Compound { writer: self, entries }
    }
}

/// A map or a list that is being written.
struct Entries {
    /// Of its keys or dashes.
    column: usize,
    /// What it stands after.
    after: After,
    begun: bool,
}

struct Compound<'w> {
    writer: &'w mut Writer,
    entries: Entries,
}

impl Compound<'_> {
    fn end(self, empty: &str) -> Done {
        if self.entries.begun {
            return Ok(());
        }
        self.writer.after = self.entries.after;
        self.writer.scalar(empty)
    }
}

impl SerializeStruct for Compound<'_> {
    type Ok = ();
    type Error = Elsewhere;

    fn serialize_field<T: Serialize + ?Sized>(&mut self, key: &'static str, value: &T) -> Done {
        self.writer.key(&mut self.entries, key)?;
        value.serialize(&mut *self.writer)
    }

    fn end(self) -> Done {
        Compound::end(self, "{}")
    }
}

impl SerializeMap for Compound<'_> {
    type Ok = ();
    type Error = Elsewhere;

    fn serialize_key<T: Serialize + ?Sized>(&mut self, key: &T) -> Done {
        let key = serde_json::to_value(key).map_err(|_| Elsewhere)?;
        self.writer.key(&mut self.entries, key.as_str().ok_or(Elsewhere)?)
    }

    fn serialize_value<T: Serialize + ?Sized>(&mut self, value: &T) -> Done {
        value.serialize(&mut *self.writer)
    }

    fn end(self) -> Done {
        Compound::end(self, "{}")
    }
}

impl SerializeSeq for Compound<'_> {
    type Ok = ();
    type Error = Elsewhere;

    fn serialize_element<T: Serialize + ?Sized>(&mut self, value: &T) -> Done {
        if !self.entries.begun && self.entries.after == After::Key {
            self.writer.out.push('\n');
        }
        self.entries.begun = true;
        self.writer.indent(self.entries.column);
        self.writer.out.push('-');
        (self.writer.column, self.writer.after) = (self.entries.column, After::Dash);
        value.serialize(&mut *self.writer)
    }

    fn end(self) -> Done {
        Compound::end(self, "[]")
    }
}

impl<'w> ser::Serializer for &'w mut Writer {
    type Ok = ();
    type Error = Elsewhere;
    type SerializeSeq = Compound<'w>;
    type SerializeMap = Compound<'w>;
    type SerializeStruct = Compound<'w>;
    type SerializeTuple = Impossible<(), Elsewhere>;
    type SerializeTupleStruct = Impossible<(), Elsewhere>;
    type SerializeTupleVariant = Impossible<(), Elsewhere>;
    type SerializeStructVariant = Impossible<(), Elsewhere>;

    fn serialize_bool(self, v: bool) -> Done {
        self.scalar(v)
    }

    fn serialize_i8(self, v: i8) -> Done {
        self.scalar(v)
    }

    fn serialize_i16(self, v: i16) -> Done {
        self.scalar(v)
    }

    fn serialize_i32(self, v: i32) -> Done {
        self.scalar(v)
    }

    fn serialize_i64(self, v: i64) -> Done {
        self.scalar(v)
    }

    fn serialize_u8(self, v: u8) -> Done {
        self.scalar(v)
    }

    fn serialize_u16(self, v: u16) -> Done {
        self.scalar(v)
    }

    fn serialize_u32(self, v: u32) -> Done {
        self.scalar(v)
    }

    fn serialize_u64(self, v: u64) -> Done {
        self.scalar(v)
    }

    fn serialize_f32(self, v: f32) -> Done {
        self.serialize_f64(f64::from(v))
    }

    fn serialize_f64(self, v: f64) -> Done {
        let written = serde_yaml::to_string(&v).map_err(|_| Elsewhere)?;
        self.scalar(written.trim_end())
    }

    fn serialize_char(self, v: char) -> Done {
        self.text(v.encode_utf8(&mut [0; 4]))
    }

    fn serialize_str(self, v: &str) -> Done {
        self.text(v)
    }

    fn serialize_bytes(self, _: &[u8]) -> Done {
        Err(Elsewhere)
    }

    fn serialize_none(self) -> Done {
        self.scalar("null")
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Done {
        value.serialize(self)
    }

    fn serialize_unit(self) -> Done {
        self.scalar("null")
    }

    fn serialize_unit_struct(self, _: &'static str) -> Done {
        self.scalar("null")
    }

    fn serialize_unit_variant(self, _: &'static str, _: u32, variant: &'static str) -> Done {
        self.text(variant)
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(self, _: &'static str, _: &T) -> Done {
        Err(Elsewhere)
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(self, _: &'static str, _: u32, _: &'static str, _: &T) -> Done {
        Err(Elsewhere)
    }

    fn serialize_seq(self, _: Option<usize>) -> Result<Compound<'w>, Elsewhere> {
        // A list within a list is of no form that a recipe has. One below a key stands as far in as the key.
        match self.after {
            After::Dash => Err(Elsewhere),
            After::Key | After::Nothing => {
                let entries = Entries { column: self.column, after: self.after, begun: false };
                Ok(Compound { writer: self, entries })
            }
        }
    }

    fn serialize_tuple(self, _: usize) -> Result<Self::SerializeTuple, Elsewhere> {
        Err(Elsewhere)
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Self::SerializeTupleStruct, Elsewhere> {
        Err(Elsewhere)
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Self::SerializeTupleVariant, Elsewhere> {
        Err(Elsewhere)
    }

    fn serialize_map(self, _: Option<usize>) -> Result<Compound<'w>, Elsewhere> {
        Ok(self.entries())
    }

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Compound<'w>, Elsewhere> {
        Ok(self.entries())
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Self::SerializeStructVariant, Elsewhere> {
        Err(Elsewhere)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use serde_json::{Map, Value};

    use super::*;

    fn texts() -> impl Strategy<Value = String> {
        prop_oneof![
            "[a-zA-Z0-9 _.,:;#'\"°²()%/+-]{0,12}",
            "[a-z .,:#\n-]{0,40}",
            "([a-z]{1,9}[ ,.]{1,2}){9,30}",
            prop::sample::select(vec![
                "no",
                "Yes",
                "off",
                "y",
                "N",
                "null",
                "1e3",
                "0x1f",
                "1:30",
                "2026-11-29",
                "- a",
                "~",
                "NaN",
                "inf"
            ])
            .prop_map(str::to_owned),
        ]
    }

    fn data() -> impl Strategy<Value = Value> {
        let leaf = prop_oneof![
            Just(Value::Null),
            any::<bool>().prop_map(Value::from),
            any::<i32>().prop_map(Value::from),
            (-1e6..1e6f64).prop_map(Value::from),
            texts().prop_map(Value::from),
        ];
        leaf.prop_recursive(4, 40, 5, |inner| {
            let map = prop::collection::vec(("[a-z_]{2,6}x", inner.clone()), 0..5);
            let map = map.prop_map(|entries| Value::Object(entries.into_iter().collect::<Map<_, _>>()));
            let items = inner.prop_filter("no list in a list", |item| !item.is_array());
            prop_oneof![map, prop::collection::vec(items, 0..5).prop_map(Value::Array)]
        })
    }

    proptest! {
        /// To the byte what the library writes of the same.
        #[test]
        fn it_is_what_the_library_writes(data in data()) {
            let root = Value::Object(std::iter::once(("root_x".to_owned(), data)).collect());
            prop_assert_eq!(written(&root), serde_yaml::to_string(&root).ok());
        }
    }

    #[test]
    fn a_key_that_is_no_plain_word_is_left_to_the_library() {
        for key in ["no", "a b", "12", "Ready", ""] {
            let one = Value::Object(std::iter::once((key.to_owned(), Value::Null)).collect());
            assert_eq!(written(&one), None, "{key}");
        }
    }
}
