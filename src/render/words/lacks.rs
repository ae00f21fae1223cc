//! What a bench lacks.

use std::fmt::{self, Display, Formatter};

use super::joined;
use crate::resolve::equip::{Lack, Short};

impl Display for Lack {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Lack::AnySpool => f.write_str("a spool that is not in stock now"),
            Lack::Spool(material) => write!(f, "a spool of {material}"),
            Lack::Agent(name) => write!(f, "the agent {name}"),
            Lack::Nozzle { metal, bore } => write!(f, "a {metal} nozzle of {} mm", bore.to_mm()),
            Lack::Surface(title) => write!(f, "the build surface {title}"),
            Lack::Enclosure { printer, reaches } => {
                write!(f, "an enclosure round {printer} (by its bed alone the air in it reaches about {reaches})")
            }
            Lack::Warmth { printer, has, more } => write!(
                f,
                "{more} more than {has} in the chamber of {printer} (a blanket round it, gaps sealed, a longer warm-up)"
            ),
            Lack::Dryer(temperature) => write!(f, "a dryer for {temperature}"),
            Lack::Printer { nearest, lacks } => write!(
                f,
                "a printer with {} (none here can print it; {nearest} comes nearest: {})",
                joined(lacks, " and "),
                joined(lacks.iter().map(Has), ", ")
            ),
            Lack::AnotherPrinter => f.write_str("another printer"),
            Lack::Unknown => f.write_str("nothing that is known"),
            Lack::All(each) => f.write_str(&joined(each, ", ")),
        }
    }
}

/// What is wanted.
impl Display for Short {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Short::HotEnd { wants, .. } => write!(f, "a hot end for {wants}"),
            Short::Bed { wants, .. } => write!(f, "a bed for {wants}"),
            Short::Chamber { wants: None, .. } => f.write_str("a closed chamber"),
            Short::Chamber { wants: Some(wants), .. } => write!(f, "a closed chamber at {wants}"),
        }
    }
}

/// What there is in its place.
struct Has<'s>(&'s Short);

impl Display for Has<'_> {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self.0 {
            Short::HotEnd { has, .. } => write!(f, "hot end {has}"),
            Short::Bed { has, .. } => write!(f, "bed {has}"),
            Short::Chamber { has: Some(has), .. } => write!(f, "chamber {has}"),
            Short::Chamber { has: None, .. } => f.write_str("open"),
        }
    }
}
