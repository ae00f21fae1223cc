//! What rules are told of a fit in words.

use std::fmt::{self, Display, Formatter};

use crate::fits::feature::SecondKind;
use crate::quantity::{Length, trim_number};
use crate::resolve::fits::said::{Also, Checked, Dimension, GrooveWidth, OfBreaking, Pieces, Tool};
use crate::resolve::fits::shown;

impl Display for Dimension {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Dimension::ThicknessOfArms => "in the thickness of its arms",
            Dimension::Width => "in width",
            Dimension::AcrossFlats => "across its flats",
            Dimension::Depth => "in depth",
            Dimension::FloorDiameter => "on the diameter of its floor",
            Dimension::Length => "in length",
            Dimension::Diameter => "on the diameter",
        })
    }
}

impl Display for Also {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let size = shown(self.1);
        match self.0 {
            SecondKind::Flat => write!(f, " and its flat to {size} from the far side"),
            SecondKind::Flats => write!(f, " and its two flats to {size} across"),
            SecondKind::Length => write!(f, " and its length to {size}"),
        }
    }
}

impl Display for GrooveWidth {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let Self(wide) = self;
        write!(f, " and its width between {} and {}", shown(wide.low), shown(wide.high))
    }
}

impl Display for Tool {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let cut = |size: &Option<Length>| size.map_or_else(String::new, |size| format!(" {}", shown(size)));
        match self {
            Tool::Reamer(size) => write!(f, "reamer{}", cut(size)),
            Tool::Drill(size) => write!(f, "drill{}", cut(size)),
            Tool::Tap { thread, drill } => write!(f, "tap {thread} with its drill{}", cut(drill)),
            Tool::Iron => f.write_str("iron with a tip for inserts"),
            Tool::Adhesive => f.write_str("two-part adhesive"),
            Tool::Abrasive => f.write_str("file, sandpaper"),
            Tool::File => f.write_str("flat file"),
            Tool::Pin => f.write_str("bought pin"),
            Tool::Bush => f.write_str("bought bush"),
        }
    }
}

impl Display for Checked<'_> {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.check.gauge, self.check.when)?;
        match self.pieces {
            Pieces::One => Ok(()),
            Pieces::Every => f.write_str("; every piece"),
            Pieces::FirstAndLast => f.write_str("; the first and the last piece"),
            Pieces::Of(sample) => write!(f, "; {sample}"),
        }
    }
}

impl Display for OfBreaking {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let [share, breaks] = [trim_number(self.share, 2), trim_number(self.breaks * 100.0, 1)];
        write!(f, "{share} x the {breaks} % at which a print breaks")
    }
}
