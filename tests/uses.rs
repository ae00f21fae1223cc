//! Uses with dangers of their own, what the spec leaves open, and what nobody asked for.

use makeready::recipe::{Status, Verdict};
use makeready::rulebook::CautionKind;

use crate::workshop::read::Recipe;
use crate::workshop::reading::material;
use crate::workshop::{Workshop, first, shapes};

const SPEC: &str = "job.partspec";

/// A block of 60 x 20 x 10 mm, indoors, on the hut's bench.
fn job(lines: &str) -> Workshop {
    let spec = format!("part \"job\" {{ mesh \"block.stl\" in mm; {lines} }}\n");
    Workshop::hut().with("block.stl", shapes::block([60.0, 20.0, 10.0])).with(SPEC, spec)
}

fn indoors(lines: &str) -> Workshop {
    job(&format!("consequence nuisance; service {{ place indoors; air 5 °C .. 30 °C }}; {lines}"))
}

fn asked<'r>(recipe: &'r Recipe, words: &str) -> &'r crate::workshop::read::Assumption {
    let found = recipe.assumptions.iter().find(|a| a.text.contains(words));
    found.unwrap_or_else(|| panic!("nothing of {words}: {:#?}", recipe.assumptions))
}

fn codes(shop: &Workshop) -> Vec<String> {
    shop.compile(SPEC).diagnostics.iter().map(|d| d.code.to_string()).collect()
}

#[test]
fn words_of_a_use_raise_the_question_and_the_spec_answers_it() {
    let plain = indoors("purpose \"A spacer\"").recipe(SPEC);
    assert_eq!(plain.status, Status::Ready, "{}", plain.headline);
    for (purpose, words, status) in [
        ("Hook in the kitchen", "speaks of food", Status::ReadyWithCautions),
        ("A wedge for the toddlers", "speaks of a child", Status::QuestionFirst),
        ("Cover for the 230 V junction box", "speaks of mains voltage", Status::QuestionFirst),
        ("Cup of a pendant lamp with an LED bulb", "speaks of mains voltage", Status::QuestionFirst),
        ("Foot of a candle", "speaks of fire", Status::QuestionFirst),
    ] {
        let recipe = indoors(&format!("purpose \"{purpose}\"")).recipe(SPEC);
        assert!(asked(&recipe, words).question && recipe.status == status, "{purpose}: {}", recipe.headline);
    }
    let overhead = indoors("purpose \"Cover of a fan, hung from the ceiling\"").recipe(SPEC);
    assert_eq!(overhead.status, Status::NotPrintableAsSpecified, "{}", overhead.headline);
    for purpose in [
        "Sheave block of the chairlift",
        "Guide of the cable car, passengers ride in it",
        "Step of the ladder",
        "Brake lever of the hut bicycle",
        "Griff der Seilbahn",
    ] {
        let recipe = indoors(&format!("purpose \"{purpose}\"")).recipe(SPEC);
        assert_eq!(recipe.status, Status::NotPrintableAsSpecified, "{purpose}: {}", recipe.headline);
    }
    // Words that leave it open ask, and refuse nothing; who says what happens when it breaks has answered.
    let bell = "purpose \"Clamp for the bell of a bicycle\"";
    let asks = indoors(bell).recipe(SPEC);
    assert!(asked(&asks, "may speak of what carries").question && asks.status == Status::ReadyWithCautions);
    let answered = job(&format!("consequence injury; service {{ place indoors; air 5 °C .. 30 °C }}; {bell}"));
    assert!(!answered.recipe(SPEC).assumptions.iter().any(|a| a.text.contains("may speak of")));
    // The pressure of a main is no voltage.
    assert!(
        !indoors("purpose \"Elbow of the water mains\"")
            .recipe(SPEC)
            .assumptions
            .iter()
            .any(|a| a.text.contains("voltage"))
    );
    // Oil on a runner is no meal, for whoever says so.
    let oiled = "service { contact \"vegetable oil\" splash }";
    assert_eq!(indoors(oiled).recipe(SPEC).not_for.len(), 1);
    let runner = indoors(&format!("{oiled}; no food contact because \"it greases a drawer\"")).recipe(SPEC);
    assert!(runner.not_for.is_empty() && !runner.headline.contains("food"), "{}", runner.headline);
    let denied = indoors("purpose \"Hook in the kitchen\"; no food contact because \"towels hang on it\"").recipe(SPEC);
    assert!(!denied.assumptions.iter().any(|a| a.text.contains("speaks of food")));
    assert!(asked(&denied, "food contact is no use of this part: towels hang on it").effect.contains("answers for it"));
}

#[test]
fn words_of_lifting_refuse_until_the_spec_says_otherwise_and_no_waiver_helps() {
    let hoist = "purpose \"Cover for the hoist\"";
    let refused = indoors(hoist).recipe(SPEC);
    assert_eq!(refused.status, Status::NotPrintableAsSpecified);
    assert!(refused.headline.contains("someone licensed") && refused.settings.is_empty(), "{}", refused.headline);
    let denied = indoors(&format!("{hoist}; no lifting because \"it is only painted on\"")).recipe(SPEC);
    assert_eq!(denied.status, Status::Ready, "{}", denied.headline);
    for rule in ["lifting", "words-of-lifting", "people-beneath"] {
        let waived = indoors(&format!("{hoist}; waive \"{rule}\" because \"tried\""));
        assert!(codes(&waived).contains(&"waive/binding".to_owned()), "{rule}: {:?}", codes(&waived));
    }
}

#[test]
fn a_use_is_not_asked_for_and_denied_at_once_and_a_part_denies_what_its_profile_asks() {
    let both = indoors("ask toy; no toy because \"it stands on a shelf\"");
    assert!(codes(&both).contains(&"ask/and-denied".to_owned()), "{:?}", codes(&both));
    let spec = "profile playroom { ask toy }\npart \"job\" is playroom { mesh \"block.stl\" in mm; no toy because \"it is a \
        shelf\"; consequence nuisance; service { place indoors; air 5 °C .. 30 °C } }\n";
    let recipe = first(indoors("").with(SPEC, spec).compile(SPEC));
    assert!(recipe.not_for.is_empty() && recipe.status == Status::Ready, "{}", recipe.headline);
}

#[test]
fn what_cannot_be_established_is_withheld_by_the_status_and_no_class_is_quoted() {
    for (ask, usage) in [
        ("food contact", "food contact"),
        ("toy", "children"),
        ("flame retardance", "resisting flame"),
        ("mains voltage", "keeping mains voltage from a hand"),
        ("skin contact", "lasting contact with skin"),
    ] {
        let recipe = indoors(&format!("ask {ask}")).recipe(SPEC);
        assert_eq!(recipe.status, Status::QuestionFirst, "{ask}: {}", recipe.headline);
        assert!(recipe.headline.contains(&format!("Not for {usage}.")), "{}", recipe.headline);
        let (_, until) = recipe.not_for.iter().find(|(u, _)| u == usage).unwrap();
        assert!(until.contains("decide") && until.contains("Other ways"), "{until}");
        let page = serde_json::to_string(&recipe).unwrap();
        assert!(!page.contains("UL 94") && !page.contains("V-0"), "{ask}");
    }
}

/// 60 x 20 mm is within 31.7 mm across and beyond 57.1 mm deep; 50 x 20 mm is within both.
#[test]
fn what_a_child_could_swallow_is_computed() {
    let small = "may fall into the small-parts cylinder";
    let whole = indoors("ask toy").with("block.stl", shapes::block([50.0, 20.0, 10.0])).recipe(SPEC);
    assert!(asked(&whole, small).text.contains("20 mm by 50 mm"), "{:#?}", whole.assumptions);
    let long = indoors("ask toy").recipe(SPEC);
    assert!(!long.assumptions.iter().any(|a| a.text.contains(small)));
}

#[test]
fn a_place_nobody_stated_is_asked_first_with_what_each_answer_leads_to() {
    let open = job("consequence nuisance").recipe(SPEC);
    let question = asked(&open, "where the part lives is not stated");
    assert!(question.question && open.status == Status::QuestionFirst, "{}", open.headline);
    let [indoors, sun, cabin] = question.answers.as_slice() else { panic!("{:?}", question.answers) };
    assert!(indoors.0.contains("place indoors") && sun.0.contains("sun direct") && cabin.0.contains("vehicle cabin"));
    // Each answer, written into the spec, leads where it is said to.
    for (write, leads_to) in [indoors, sun, cabin] {
        let recipe = job(&format!("consequence nuisance; {write}")).recipe(SPEC);
        let found = if recipe.decisions.is_some() { material(&recipe) } else { "nothing at hand" };
        assert!(leads_to.starts_with(found), "{write}: {leads_to}, found {found}");
    }
    // Where the air is said the question stays, and holds nothing up.
    let aired = job("consequence nuisance; service { air 5 °C .. 30 °C }").recipe(SPEC);
    assert!(asked(&aired, "where the part lives").question);
    assert_eq!(aired.status, Status::ReadyWithCautions, "{}", aired.headline);
    // A print that only tries a fit need not last.
    let tried = job("stage fit-prototype").recipe(SPEC);
    assert!(!tried.assumptions.iter().any(|a| a.text.contains("where the part lives")));
}

#[test]
fn a_hold_nobody_stated_is_asked_first_where_its_failure_does_damage() {
    let load = "load \"weight\" { force 600 N toward -z; held 1 years }";
    let at = |consequence: &str| {
        job(&format!("consequence {consequence}; service {{ place indoors; air 5 °C .. 30 °C }}; {load}")).recipe(SPEC)
    };
    let damage = at("damage");
    assert!(asked(&damage, "Where is the part held").question && damage.status == Status::QuestionFirst);
    assert!(!at("nuisance").assumptions.iter().any(|a| a.text.contains("Where is the part held")));
}

#[test]
fn holds_places_and_directions_nobody_stated_are_tried_each_with_what_it_leads_to() {
    let service = "consequence damage; service { place indoors; air 5 °C .. 30 °C }";
    let face = "face \"end\" toward -x; face \"tip\" toward +x";
    for (load, words, write) in [
        ("force 20 N toward -z at face \"tip\"", "held at its largest flat face", "fixed at face"),
        ("force 20 N toward -z; fixed at face \"end\"", "acting at (", "at face"),
        ("force 18 N at face \"tip\"; fixed at face \"end\"", "no direction is stated", "toward "),
    ] {
        let with = |load: &str| job(&format!("{service}; {face}; load \"push\" {{ {load}; held 1 day }}"));
        let recipe = with(load).recipe(SPEC);
        let open = asked(&recipe, words);
        assert!(open.answers.len() >= 2 && open.answers.iter().all(|a| a.0.contains(write)), "{load}: {open:?}");
        // Each answer, written into the spec, leads where it is said to.
        for (answer, leads_to) in open.answers.iter().take(3) {
            let (inside, faces) = answer.split_once('{').unwrap().1.split_once('}').unwrap();
            let told = if inside.trim().starts_with("toward") {
                with(&load.replace(" N at", &format!(" N {} at", inside.trim())))
            } else if inside.trim().starts_with("at") {
                with(&load.replace("-z;", &format!("-z {};", inside.trim())))
            } else {
                with(&format!("{load}; {inside}"))
            };
            let spec = told.read(SPEC).replace("}\n", &format!("{faces} }}\n")).replace("} ;", "};");
            let recipe = told.with(SPEC, spec).recipe(SPEC);
            let found = if recipe.decisions.is_some() { material(&recipe) } else { "nothing" };
            assert!(leads_to.starts_with(found), "{answer}: {leads_to}, found {found}");
        }
    }
}

#[test]
fn what_words_refuse_is_not_laid_to_the_bench() {
    let refused = indoors("purpose \"Lid that people step on\"").recipe(SPEC);
    assert_eq!(refused.status, Status::NotPrintableAsSpecified);
    let told = format!("{:?}", refused.conflicts);
    assert!(refused.conflicts.len() == 1 && !told.contains("bench alone"), "{told}");
}

#[test]
fn support_that_stays_in_is_asked_about_and_refused_where_it_must_be_clear() {
    // A room of 40 x 30 x 30 mm with an opening of 6 mm in one end.
    let lines: [&[f64]; 3] =
        [&[0.0, 3.0, 43.0, 46.0], &[0.0, 3.0, 15.0, 21.0, 33.0, 36.0], &[0.0, 3.0, 15.0, 21.0, 33.0, 36.0]];
    let open =
        |[x, y, z]: [usize; 3]| (x == 1 && (1..4).contains(&y) && (1..4).contains(&z)) || (x == 2 && y == 2 && z == 2);
    let room = |more: &str| {
        let spec = format!(
            "part \"job\" {{ mesh \"room.stl\" in mm; consequence nuisance; service {{ place indoors; air 5 °C .. 30 °C }}; {more} }}\n"
        );
        Workshop::hut().with("room.stl", shapes::blocks(lines, |at| !open(at), |p| p)).with(SPEC, spec).recipe(SPEC)
    };
    let asked = room("purpose \"Box in the corner\"");
    assert!(asked.headline.contains("must its inside be clear"), "{}", asked.headline);
    let settled = room("no clear inside because \"only a dummy\"");
    assert!(!settled.headline.contains("inside be clear"), "{}", settled.headline);
    let clear = room("ask clear inside");
    let (was, now) = (settled.decisions.unwrap(), clear.decisions);
    assert!(now.is_none_or(|now| now.pose.value != was.pose.value || now.supports.value != was.supports.value));
}

#[test]
fn support_in_a_sealed_room_is_asked_about_whatever_the_use() {
    // A float of 40 x 40 x 40 mm with walls of 3 mm all round.
    let lines: [&[f64]; 3] = [&[0.0, 3.0, 37.0, 40.0]; 3];
    let float = |more: &str| {
        let spec = format!(
            "part \"job\" {{ mesh \"float.stl\" in mm; consequence nuisance; service {{ place indoors; air 5 °C .. 30 °C; wet immersed }}; {more} }}\n"
        );
        let mesh = shapes::blocks(lines, |at| at != [1, 1, 1], |p| p);
        Workshop::hut().with("float.stl", mesh).with(SPEC, spec).recipe(SPEC)
    };
    let asked = float("purpose \"Float\"");
    assert_eq!(asked.status, Status::QuestionFirst);
    for word in ["closed on all sides", "to drain", "arch it", "split the part"] {
        assert!(asked.headline.contains(word), "{word}: {}", asked.headline);
    }
    let settled = float("no clear inside because \"it is ballast\"");
    assert_eq!(settled.status, Status::ReadyWithCautions);
    // What is answered is asked no more, and nobody is sent to take off what nobody reaches.
    assert!(!settled.assumptions.iter().any(|a| a.text.contains("stay in")), "{:#?}", settled.assumptions);
    assert!(!settled.checklist.iter().flat_map(|p| &p.steps).any(|step| step.text.contains("Break the support off")));
    // Where it must be tight, the model is drawn otherwise before the tightness is given up.
    let refused = float("tight against \"water\"");
    let ways: Vec<&str> = refused.relaxations.iter().map(|r| r.text.as_str()).collect();
    assert!(ways[0].starts_with("in the model: slope at 45° or arch what overhangs"), "{ways:#?}");
    assert!(ways.iter().skip(1).any(|way| way.contains("without `tight against \"water\"`")), "{ways:#?}");
}

#[test]
fn what_keeps_in_what_burns_is_withheld() {
    let of = |more: &str| {
        let service = "service { place indoors; air 5 °C .. 30 °C; contact \"petrol\" vapour }";
        job(&format!("consequence nuisance; {service}; {more}")).recipe(SPEC)
    };
    let cap = of("tight against \"petrol\"");
    assert!(cap.headline.contains("Not for keeping in what burns"), "{}", cap.headline);
    assert!(of("quantity 1").not_for.is_empty());
}

#[test]
fn annealed_material_waits_to_be_asked_for() {
    let hot = "consequence nuisance; service { place indoors; air 5 °C .. 74 °C }; pin material \"PLA-ANNEALED\" because \"x\"";
    let refused = job(hot).recipe(SPEC);
    let said = serde_json::to_string(&refused).unwrap();
    assert!(refused.status == Status::NotPrintableAsSpecified && said.contains("treat anneal"), "{}", refused.headline);
}

/// A currency is no reason: with every price of the shop a hundred and sixty times as high nothing else is decided.
#[test]
fn prices_in_another_currency_decide_nothing() {
    let shop = "name: S\ncurrency: CUR\nlabour: LAB money/h\nprinters:\n  - { name: A, build: [220 mm, 220 mm, 220 mm], nozzle_limit: 290 °C, \
        bed_limit: 110 °C, enclosed: yes, drive: direct, hour_rate: HOUR money/h, now: { material: PETG, spool: p, nozzle: b4, \
        surface: textured-pei, levelled: yes } }\nnozzles:\n  - { name: b4, bore: 0.4 mm, metal: brass }\n  - { name: b6, bore: 0.6 mm, \
        metal: brass }\nsurfaces: [textured-pei]\nagents: [pva-glue]\nspools:\n  - { name: p, material: PETG, colour: black, left: 900 g, \
        price: PETG money/kg }\n  - { name: l, material: PLA, colour: black, left: 900 g, price: PLA money/kg }\n  - { name: a, material: ASA, \
        colour: black, left: 900 g }\n";
    let at = |scale: f64, quantity: u32| {
        let mut text = shop.to_owned();
        for (word, price) in [("LAB", 30.0), ("HOUR", 1.5), ("PETG money", 22.0), ("PLA money", 18.0)] {
            let to = format!("{}", price * scale);
            text = text.replace(word, &if word.ends_with("money") { format!("{to} money") } else { to });
        }
        let lines = format!("quantity {quantity}; prefer cost");
        indoors(&lines).with("shop.yaml", text.replace("CUR", if scale > 1.0 { "JPY" } else { "EUR" })).recipe(SPEC)
    };
    for quantity in [1, 7, 400] {
        let (one, other) = (at(1.0, quantity), at(160.0, quantity));
        let chosen = |r: &Recipe| {
            let d = r.decisions.clone().unwrap();
            [d.printer, d.material, d.nozzle, d.surface, d.pose, d.build_up]
                .map(|d| (d.value, d.runner_up.map(|r| r.value)))
        };
        assert_eq!(chosen(&one), chosen(&other), "{quantity}");
        assert!(one.decisions.unwrap().material.runner_up.unwrap().run_apart.is_some());
    }
}

/// What of a recipe is to be watched: margins, hazards, questions, the mesh, waivers.
fn watched(recipe: &makeready::recipe::Recipe) -> [bool; 5] {
    [
        recipe.margins.iter().any(|m| m.verdict != Verdict::Holds),
        recipe.cautions.iter().any(|c| c.kind != CautionKind::Quality),
        recipe.assumptions.iter().any(|a| a.question),
        recipe.mesh.iter().any(|m| m.warning),
        !recipe.broken.is_empty(),
    ]
}

/// Each by itself keeps a recipe from being ready without a word.
#[test]
fn one_thing_to_be_watched_is_enough() {
    let status = |shop: &Workshop| {
        let made = shop.compile(SPEC);
        assert_eq!(made.parts.len(), 1, "{:#?}", made.diagnostics);
        let recipe = &made.parts[0].recipe;
        (watched(recipe), recipe.status)
    };
    let quiet = indoors("purpose \"A spacer\"");
    assert_eq!(status(&quiet), ([false; 5], Status::Ready));
    let fumes = indoors("pin material \"ABS\" because \"the loft has it\"");
    assert_eq!(status(&fumes), ([false, true, false, false, false], Status::ReadyWithCautions));
    let asked = indoors("purpose \"Hook in the kitchen\"");
    assert_eq!(status(&asked), ([false, false, true, false, false], Status::ReadyWithCautions));
    let lines: [&[f64]; 3] = [&[0.0, 20.0, 40.0, 60.0], &[0.0, 7.0, 13.0, 20.0], &[0.0, 3.0, 7.0, 10.0]];
    let hollow = indoors("").with("block.stl", shapes::blocks(lines, |cell| cell != [1, 1, 1], |p| p));
    assert_eq!(status(&hollow), ([false, false, false, true, false], Status::ReadyWithCautions));
    let rule = "rule \"never-one\" { require part.quantity > 1\n because \"x\"\n source common-practice }\n";
    let waived = indoors("quantity 1; waive \"never-one\" because \"a trial\"").with("own.rules", rule);
    assert_eq!(status(&waived), ([false, false, false, false, true], Status::ReadyWithCautions));
}
