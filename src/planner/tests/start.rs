//! How many to start: proven least numbers, an independent library, and what more pieces can never do.

use proptest::prelude::*;
use serde_json::Value;
use statrs::distribution::{Binomial, DiscreteCDF};
use statrs::function::beta::ln_beta;
use statrs::function::factorial::ln_binomial;

use super::{instances, number, whole};
use crate::start::{Demand, Prior, Share, WholePlates, chance, start};

fn demand(wanted: u64, good: Share, confidence: f64) -> Demand {
    Demand { wanted, used_up: 0, first_article: 0, good, plates: None, confidence }
}

fn asked(case: &Value) -> Demand {
    let plain = |good| demand(whole(&case["wanted"]), good, number(&case["confidence"]));
    match case["kind"].as_str().unwrap() {
        "binomial" => plain(Share::Known(number(&case["yield"]))),
        "beta-binomial" => plain(Share::Recorded {
            came: whole(&case["good"]),
            of: whole(&case["of"]),
            prior: Prior { came: number(&case["prior"][0]), not: number(&case["prior"][1]) },
        }),
        _ => Demand {
            plates: Some(WholePlates {
                per_plate: whole(&case["per_plate"]),
                lost: Share::Known(number(&case["plate_failure"])),
            }),
            ..plain(Share::Known(number(&case["piece_yield"])))
        },
    }
}

#[test]
fn proven_least_numbers_are_met() {
    let cases = instances(include_str!("truths/start.json"));
    assert_eq!(cases.len(), 28);
    for case in &cases {
        let asked = asked(case);
        let found = start(&asked).unwrap();
        assert_eq!(found.pieces, whole(&case["start"]), "{case}");
        assert!((found.chance - number(&case["probability"])).abs() < 1e-11, "{case} {found:?}");
        let less = number(&case["probability_with_one_less"]);
        assert!((found.chance_with_one_less - less).abs() < 1e-11, "{case} {found:?}");
        if let Some(full) = case.get("least_full_plates") {
            assert_eq!(found.full_plates, Some(whole(full)), "{case}");
            assert_eq!(found.plates.len() as u64, whole(&case["plates"]), "{case}");
            let share = number(&case["piece_yield"]) * (1.0 - number(&case["plate_failure"]));
            let alone = start(&demand(asked.wanted, Share::Known(share), asked.confidence)).unwrap();
            assert_eq!(alone.pieces, whole(&case["if_taken_as_independent"]), "{case}");
        }
    }
}

/// P[at least k of n] by the logarithms of an independent library.
fn beta_binomial_at_least(n: u64, k: u64, a: f64, b: f64) -> f64 {
    (k..=n).map(|j| (ln_binomial(n, j) + ln_beta(a + j as f64, b + (n - j) as f64) - ln_beta(a, b)).exp()).sum()
}

proptest! {
    #![proptest_config(super::cases(100))]

    #[test]
    fn sums_agree_with_an_independent_library(wanted in 1_u64..400, more in 0_u64..60, yield_share in 0.3_f64..0.999) {
        let n = wanted + more;
        let ours = chance(&demand(wanted, Share::Known(yield_share), 0.9), n).unwrap();
        let theirs = Binomial::new(yield_share, n).unwrap().sf(wanted - 1);
        prop_assert!((ours - theirs).abs() < 1e-9, "{ours} {theirs}");
    }

    #[test]
    fn urns_agree_with_an_independent_library(
        wanted in 1_u64..200, more in 0_u64..60, of in 0_u64..90, bad in 0_u64..9, a in 0.5_f64..10.0, b in 0.5_f64..3.0
    ) {
        let came = of.saturating_sub(bad);
        let good = Share::Recorded { came, of, prior: Prior { came: a, not: b } };
        let ours = chance(&demand(wanted, good, 0.9), wanted + more).unwrap();
        let theirs = beta_binomial_at_least(wanted + more, wanted, a + came as f64, b + (of - came) as f64);
        prop_assert!((ours - theirs).abs() < 1e-8, "{ours} {theirs}");
    }

    #[test]
    fn one_piece_a_plate_fails_alone(wanted in 1_u64..60, more in 0_u64..20, p in 0.5_f64..1.0, q in 0.0_f64..0.5) {
        let alone = demand(wanted, Share::Known(p * (1.0 - q)), 0.9);
        let plates = Some(WholePlates { per_plate: 1, lost: Share::Known(q) });
        let plated = Demand { plates, good: Share::Known(p), ..alone };
        let (one, other) = (chance(&alone, wanted + more).unwrap(), chance(&plated, wanted + more).unwrap());
        prop_assert!((one - other).abs() < 1e-10, "{one} {other}");
    }

    #[test]
    fn more_pieces_and_a_longer_clean_record_never_do_harm(
        wanted in 1_u64..50, per_plate in 1_u64..12, clean in 0_u64..40, first_article in 0_u64..3
    ) {
        let recorded = |n| Share::Recorded { came: n, of: n, prior: Prior::EVEN };
        let lost = Share::Recorded { came: 1, of: 20, prior: Prior::EVEN };
        let with = |n| Demand {
            first_article,
            plates: Some(WholePlates { per_plate, lost }),
            ..demand(wanted, recorded(n), 0.8)
        };
        let found = start(&with(clean)).unwrap();
        prop_assert!(start(&with(clean + 5)).unwrap().pieces <= found.pieces);
        prop_assert!(found.chance >= 0.8 - 1e-12 && found.chance_with_one_less < 0.8);
        prop_assert_eq!(found.plates.iter().sum::<u64>(), found.pieces);
        let mut before = 0.0;
        for n in wanted..wanted + 30 {
            let now = chance(&with(clean), n).unwrap();
            prop_assert!(now >= before - 1e-12, "{n}: {now} after {before}");
            before = now;
        }
    }
}

#[test]
fn what_is_used_up_and_a_first_article_are_counted_in() {
    let plain = demand(20, Share::Known(0.95), 0.9);
    let two_cut_open = Demand { used_up: 2, ..plain };
    assert_eq!(start(&two_cut_open).unwrap().pieces, start(&demand(22, Share::Known(0.95), 0.9)).unwrap().pieces);
    let plates = Some(WholePlates { per_plate: 8, lost: Share::Known(0.05) });
    let first = start(&Demand { first_article: 1, plates, ..plain }).unwrap();
    assert_eq!(first.plates[..2], [1, 8]);
}

#[test]
fn what_cannot_be_is_refused() {
    for (wanted, good, confidence) in
        [(10, 0.0, 0.9), (10, 0.9, 1.0), (10, -0.1, 0.9), (10, 0.9, f64::NAN), (3_000_000, 0.9, 0.9)]
    {
        assert!(start(&demand(wanted, Share::Known(good), confidence)).is_err(), "{wanted} {good} {confidence}");
    }
    let more_good_than_made = Share::Recorded { came: 3, of: 2, prior: Prior::EVEN };
    assert!(start(&demand(1, more_good_than_made, 0.9)).is_err());
    // A million is much, but not too much.
    let million = start(&demand(1_000_000, Share::Known(0.98), 0.95)).unwrap();
    assert!((1_020_400..1_021_000).contains(&million.pieces), "{million:?}");
}
