//! What a world has worked out: kept by what it hangs on, shared between threads, handed on to its variants.
//!
//! Whatever is kept hangs on its key alone, so that it is the same whichever thread made it first.

use std::sync::{Arc, Mutex};

use crate::geometry::regions::limits::Limits;
use crate::resolve::elastic::NotKnown;
use crate::resolve::mixing::{Memo, QuickMap, lock};
use crate::resolve::problem::Ruling;
use crate::resolve::reading::{Key, Readings, job_independent};
use crate::resolve::run::{Pace, Plates};
use crate::resolve::search::Sums;
use crate::resolve::strength::{Between, LoadMargin};
use crate::rulebook::names::Root;
use crate::rulebook::value::{Fact, Record, Value};

/// The answers of one world.
#[derive(Debug, Default)]
pub(in crate::resolve) struct Memory {
    pub(super) records: Memo<(Root, usize, Key), Arc<Record>>,
    /// Of each root the record asked for last.
    pub(super) latest: [Latest; Root::ALL.len()],
    /// What of the facts of a pose hangs on nothing but the pose.
    pub(super) poses: Memo<usize, Arc<Record>>,
    /// Single settings, by their place in the order of dependence.
    pub(super) settings: Memo<(usize, Key), Option<Fact>>,
    /// What rules said that read the bench alone.
    pub(super) rulings: Memo<(usize, Key), Ruling>,
    /// What rules that read the bench alone say together, between searches.
    pub(in crate::resolve) sums: Mutex<Sums>,
    /// By the choice of printer, material, nozzle and build-up.
    pub(super) paces: Memo<Key, Pace>,
    /// What the spec asks of the part that settings are made from.
    asked: Vec<Option<Value>>,
    pub(super) limits: Memo<Key, Arc<Limits>>,
    /// By the full choice.
    pub(super) plans: Memo<Key, Option<Arc<Plates>>>,
    /// The least material round the features of a fit, mm.
    pub(super) round_walls: Memo<usize, Option<f64>>,
    /// How many pieces go on a bed, by the sizes of both, the gap and the edge.
    pub(super) packed: Memo<Sizes, Option<u32>>,
    /// By load, material and pose.
    pub(super) load_margins: Memo<(usize, usize, usize), Result<Arc<LoadMargin>, NotKnown>>,
    /// By loads that act at once, material and pose.
    pub(super) between: Memo<AtOnce, Result<Arc<Between>, NotKnown>>,
}

/// Loads that act at once, a material and a pose.
type AtOnce = (Vec<usize>, usize, usize);

/// Lengths in millimetres, as bits.
type Sizes = [u64; 6];

/// Instance, choice and record.
type Latest = Mutex<Option<(usize, Key, Arc<Record>)>>;

/// What hangs on bench and catalogue alone, whatever the spec and the part.
#[derive(Debug, Default)]
pub struct BenchRecords {
    pub(super) readings: Option<Arc<Readings>>,
    records: QuickMap<(Root, usize, Key), Arc<Record>>,
    settings: QuickMap<(usize, Key), Option<Fact>>,
    rulings: QuickMap<(usize, Key), Ruling>,
    sums: Sums,
    /// What hangs on what the spec asked of its part besides, and that.
    asked: Vec<Option<Value>>,
    as_asked: QuickMap<(usize, Key), Option<Fact>>,
    paces: QuickMap<Key, Pace>,
    packed: QuickMap<Sizes, Option<u32>>,
}

impl Memory {
    /// Begins with what another world gave back; where the spec pins settings, without what hangs on settings. `asked` is what
    /// this spec asks of its part that settings are made from.
    pub(super) fn knowing(known: BenchRecords, is_pinned: bool, asked: Vec<Option<Value>>) -> Self {
        let mut records = known.records;
        if is_pinned {
            // What a pin says of the build-up is this spec's.
            records.retain(|(root, _, _), _| *root != Root::BuildUp);
        }
        let records = Memo::holding(records);
        if is_pinned {
            return Self { records, asked, packed: Memo::holding(known.packed), ..Self::default() };
        }
        let (mut settings, mut paces) = (known.settings, QuickMap::default());
        if known.asked == asked {
            settings.extend(known.as_asked);
            paces = known.paces;
        }
        Self {
            records,
            asked,
            settings: Memo::holding(settings),
            paces: Memo::holding(paces),
            packed: Memo::holding(known.packed),
            rulings: Memo::holding(known.rulings),
            sums: Mutex::new(known.sums),
            ..Self::default()
        }
    }

    /// Begins with those records of another world that hold here too. Candidates are added behind those there are, so an
    /// index means the same thing in both.
    pub(super) fn for_variant(&self, same_bench: bool, same_shape: bool) -> Self {
        let lasting = |root: Root| match root {
            Root::Material | Root::Agent | Root::Supports => true,
            Root::Mesh => same_shape,
            Root::BuildUp => false,
            root => same_bench && job_independent(root),
        };
        Self { records: Memo::holding(self.records.those(|(root, _, _)| lasting(*root))), ..Self::default() }
    }

    /// Gives away what hangs on bench and catalogue alone.
    pub(super) fn take_lasting(&self, readings: &Arc<Readings>, is_pinned: bool) -> BenchRecords {
        let mut records = self.records.take();
        records.retain(|(root, _, _), _| job_independent(*root) && (*root != Root::BuildUp || !is_pinned));
        let (mut settings, mut rulings, mut paces) = (self.settings.take(), self.rulings.take(), self.paces.take());
        let mut as_asked = QuickMap::default();
        let sums = std::mem::take(&mut *lock(&self.sums));
        if is_pinned {
            settings.clear();
            rulings.clear();
            paces.clear();
        } else {
            let of = |setting: usize| readings.settings.get(setting);
            as_asked.extend(settings.extract_if(|(s, _), _| of(*s).is_some_and(|d| d.as_asked && !d.job_independent)));
            settings.retain(|(s, _), _| of(*s).is_some_and(|d| d.job_independent));
            if !readings.paces_are_as_asked() {
                paces.clear();
            }
        }
        let (readings, asked) = (Some(Arc::clone(readings)), self.asked.clone());
        let packed = self.packed.take();
        BenchRecords { readings, records, settings, rulings, sums, asked, as_asked, paces, packed }
    }
}
