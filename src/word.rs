//! Closed sets of words, each an enum in rising order, with one place for its spelling.

/// A closed set of words.
pub trait Word: Copy {
    /// In rising order.
    const WORDS: &'static [&'static str];
    /// Returns the member spelt like this.
    fn from_word(text: &str) -> Option<Self>;
    /// Returns how the member is spelt.
    fn word(self) -> &'static str;
}

/// Gives an enum that stands elsewhere the words of its members, which must stand in rising order.
macro_rules! worded {
    ($name:ident { $($member:ident = $text:literal),+ $(,)? }) => {
        impl $crate::word::Word for $name {
            const WORDS: &'static [&'static str] = &[$($text),+];
            fn from_word(text: &str) -> Option<Self> {
                match text { $($text => Some(Self::$member),)+ _ => None }
            }
            fn word(self) -> &'static str {
                match self { $(Self::$member => $text),+ }
            }
        }
    };
}
pub(crate) use worded;

/// Defines an enum whose members have a spelling; declaration order is rising order.
macro_rules! words {
    ($(#[$doc:meta])* pub enum $name:ident { $($(#[$member_doc:meta])* $member:ident = $text:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$member_doc])* $member),+ }

        impl $name {
            /// How the members are spelt, in rising order.
            pub const WORDS: &'static [&'static str] = &[$($text),+];

            /// Returns the word as it is written in files.
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$member => $text),+ }
            }

            /// Returns the member spelt like this.
            pub fn parse(text: &str) -> Option<Self> {
                match text { $($text => Some(Self::$member),)+ _ => None }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result { f.write_str(self.as_str()) }
        }

        impl $crate::word::Word for $name {
            const WORDS: &'static [&'static str] = Self::WORDS;
            fn from_word(text: &str) -> Option<Self> { Self::parse(text) }
            fn word(self) -> &'static str { self.as_str() }
        }
    };
}
pub(crate) use words;
