//! Spools: proven plans are met, and no plate outruns its spool.

use proptest::prelude::*;
use serde_json::Value;

use super::{instances, number, whole};
use crate::Effort;
use crate::order::Span;
use crate::spools::{Answer, Plan, Stock, plan};

fn masses(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

/// Panics unless the plan feeds every plate from what there is, all spools of a plate but the last used up.
fn assert_feeds(stock: &Stock, found: &Plan) {
    let mut left = stock.spools_g.clone();
    assert_eq!(found.draws.len(), stock.plates_g.len());
    for (draws, need) in found.draws.iter().zip(&stock.plates_g) {
        assert!((draws.iter().map(|d| d.mass_g).sum::<f64>() - need).abs() < 1e-6, "{found:?}");
        for (n, draw) in draws.iter().enumerate() {
            left[draw.spool] -= draw.mass_g + draw.lost_g;
            assert!(left[draw.spool] > -1e-6 && draw.mass_g > -1e-9, "{found:?}");
            assert!(n + 1 == draws.len() || left[draw.spool].abs() < 1e-6, "{found:?}");
        }
    }
    assert_eq!(found.changes, found.draws.iter().map(|d| d.len() - 1).sum::<usize>());
    assert!(found.changes >= found.changes_at_least);
}

#[test]
fn proven_plans_are_met() {
    let cases = instances(include_str!("truths/spools.json"));
    assert_eq!(cases.len(), 12);
    for case in &cases {
        let stock = Stock {
            plates_g: masses(&case["plates_g"]),
            spools_g: masses(&case["spools_left_g"]),
            loss_at_change_g: number(&case["loss_at_change_g"]),
            scrap_below_g: number(&case["scrap_below_g"]),
            ..Stock::default()
        };
        match plan(&stock, Effort::default()).unwrap() {
            Answer::Enough(found) => {
                assert_feeds(&stock, &found);
                let answer = &case["answer"];
                assert_eq!(found.changes as u64, whole(&answer["changes_in_mid_plate"]), "{case}");
                assert!((found.stranded_g - number(&answer["stranded_g"])).abs() < 1e-6, "{case} {found:?}");
                assert_eq!(found.touched as u64, whole(&answer["spools_touched"]), "{case}");
                assert!(found.proven, "{case}");
            }
            Answer::Short { short_g, new_spool_g } => {
                assert!(case["answer"].is_null(), "{case}");
                assert!((short_g - number(&case["short_g"])).abs() < 1e-6, "{case}");
                assert!((new_spool_g - number(&case["least_new_spool_g"])).abs() < 1e-6, "{case} {new_spool_g}");
            }
        }
    }
}

fn a_stock(plates: usize, spools: usize) -> impl Strategy<Value = Stock> {
    let mass = |n| prop::collection::vec((5_u32..400).prop_map(f64::from), 1..n);
    (mass(plates), mass(spools), 0_u32..12, 0_u32..60).prop_map(|(plates_g, spools_g, loss, scrap)| Stock {
        plates_g,
        spools_g,
        loss_at_change_g: loss.into(),
        scrap_below_g: scrap.into(),
        ..Stock::default()
    })
}

proptest! {
    #![proptest_config(super::cases(150))]

    #[test]
    fn no_plate_outruns_its_spool_and_the_new_one_asked_for_does(stock in a_stock(9, 6)) {
        match plan(&stock, Effort(1_000_000)).unwrap() {
            Answer::Enough(found) => assert_feeds(&stock, &found),
            Answer::Short { new_spool_g, .. } => {
                let mut more = stock.clone();
                more.spools_g.push(new_spool_g);
                match plan(&more, Effort(1_000_000)).unwrap() {
                    Answer::Enough(found) => assert_feeds(&more, &found),
                    short => prop_assert!(false, "{new_spool_g}: {short:?}"),
                }
            }
        }
    }

    #[test]
    fn a_spool_more_is_never_worse(stock in a_stock(6, 5), more in 20_u32..500) {
        if let Answer::Enough(before) = plan(&stock, Effort::default()).unwrap() {
            let mut with = stock.clone();
            with.spools_g.push(more.into());
            let Answer::Enough(after) = plan(&with, Effort::default()).unwrap() else { panic!("no longer enough") };
            prop_assume!(before.proven && after.proven);
            prop_assert!(after.changes <= before.changes);
            if after.changes == before.changes {
                prop_assert!(after.stranded_g <= before.stranded_g + 1e-6);
            }
        }
    }
}

#[test]
fn many_plates_are_fed_too() {
    let stock = Stock {
        plates_g: (0..1_000).map(|n| f64::from(40 + n * 37 % 160)).collect(),
        spools_g: vec![1_000.0; 140],
        loss_at_change_g: 3.0,
        scrap_below_g: 40.0,
        ..Stock::default()
    };
    let Answer::Enough(found) = plan(&stock, Effort(2_000_000)).unwrap() else { panic!("enough by weight") };
    assert_feeds(&stock, &found);
    assert!(found.changes <= 5, "{}", found.changes);
}

#[test]
fn a_spool_feeds_one_plate_at_a_time() {
    let at = |from_min, to_min| Span { from_min, to_min };
    let mut stock = Stock { plates_g: vec![100.0, 100.0], spools_g: vec![500.0, 300.0], ..Stock::default() };
    let touched = |stock: &Stock| match plan(stock, Effort::default()).unwrap() {
        Answer::Enough(found) => found.touched,
        short => panic!("{short:?}"),
    };
    assert_eq!(touched(&stock), 1);
    stock.printed = vec![at(0, 60), at(60, 100)];
    assert_eq!(touched(&stock), 1);
    stock.printed = vec![at(0, 60), at(59, 100)];
    assert_eq!(touched(&stock), 2);
    stock.spools_g = vec![500.0];
    assert!(matches!(plan(&stock, Effort::default()).unwrap(), Answer::Short { short_g: 0.0, .. }));
}
