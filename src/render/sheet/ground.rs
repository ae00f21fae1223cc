//! What a recipe rests on, in few lines: poses, overhangs, the mesh, what went in.

use super::{Recipe, capital, inline, shortened};
use crate::recipe::RegionRow;
use crate::resolve::facts::place;

/// Places named of regions that are alike; the rest are counted.
const PLACES: usize = 2;

/// Says how many poses stand behind the first, and what the best of them comes to.
pub(super) fn further_poses(recipe: &Recipe, shown: usize) -> String {
    let rest = recipe.poses.get(shown..).unwrap_or_default();
    match rest {
        [] => String::new(),
        [one] => format!("One more, {}, at {}.", inline(&one.plain), one.total.plain()),
        [first, ..] => {
            format!("{} more, the best of them {} at {}.", rest.len(), inline(&first.plain), first.total.plain())
        }
    }
}

/// Says what overhangs in the pose chosen; regions that are alike but for their place share a line.
pub(super) fn overhangs(recipe: &Recipe) -> Vec<String> {
    let mut groups: Vec<Vec<&RegionRow>> = Vec::new();
    for row in &recipe.regions {
        let alike = |g: &&mut Vec<&RegionRow>| {
            g.first().is_some_and(|f| {
                (f.kind, f.verdict, &f.extent, &f.because) == (row.kind, row.verdict, &row.extent, &row.because)
            })
        };
        match groups.iter_mut().find(alike) {
            Some(group) => group.push(row),
            None => groups.push(vec![row]),
        }
    }
    let mut lines: Vec<String> = groups.iter().filter_map(|g| line(g)).collect();
    lines.extend(recipe.more_regions.as_ref().map(|more| {
        format!(
            "{} more, {:.1} mm² in all: smaller, or too small to tell from the grain of the layers",
            more.count,
            more.area.to_mm2()
        )
    }));
    lines
}

fn line(group: &[&RegionRow]) -> Option<String> {
    let first = group.first()?;
    let area: f64 = group.iter().map(|r| r.area.to_mm2()).sum();
    let places: Vec<String> = group
        .iter()
        .take(PLACES)
        .map(|r| {
            let [low, high] = r.height.map(|z| z.to_mm());
            format!("{} ({low:.1} to {high:.1} mm above the bed)", place(r.at))
        })
        .collect();
    let more =
        if group.len() > places.len() { format!(" and {} more", group.len() - places.len()) } else { String::new() };
    let many = if group.len() > 1 { format!("{} times ", group.len()) } else { String::new() };
    let extent = if first.extent.is_empty() { String::new() } else { format!(", {}", inline(&first.extent)) };
    Some(format!(
        "**{}**: {many}{}{extent}, {area:.0} mm² at {}{more}: {}",
        capital(first.verdict.words()),
        first.kind.words(),
        inline(&places.join(" and ")),
        inline(&first.because)
    ))
}

/// What was measured and calls for nothing, in one line.
pub(super) fn mesh_words(recipe: &Recipe) -> String {
    // How large it is and how it stands has been said at the machine.
    let calm = recipe.mesh.iter().filter(|m| !m.warning && !["size", "triangles"].contains(&m.name));
    capital(&inline(&calm.map(|m| format!("{}: {}", m.name, m.value)).collect::<Vec<_>>().join(". ")))
}

/// Name and digest of all that went in.
pub(super) fn input_words(recipe: &Recipe) -> String {
    let one = |i: &crate::recipe::Input| format!("{} `{}`", inline(&i.name), shortened(&i.digest));
    recipe.inputs.iter().map(one).collect::<Vec<_>>().join(", ")
}
