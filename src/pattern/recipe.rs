//! The recipe: names of edges, and steps in order.

use super::{Letter, Outline, StepProblem, StepText};

/// What is to be done to the half: replayed from the fold on, it always gives the same pieces.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Recipe {
    /// Names given to edges: name, and the edge's letters.
    pub names: Vec<(String, String)>,
    /// Steps in order, as they are written.
    pub steps: Vec<StepText>,
}

/// Gives an edge its name.
pub(super) fn name_edge(outline: &mut Outline, name: &str, edge: &str) -> Result<(), StepProblem> {
    let why_not = |why: String| Err(StepProblem::NotAName { why });
    if name.trim().is_empty() || name.contains('-') || Letter::parse(name).is_some() {
        return why_not("a name is a word of three letters or more without a dash".to_owned());
    }
    let index = outline.find_edge(edge)?;
    if let Some(other) =
        outline.edges().iter().find_map(|e| e.name.as_deref().filter(|n| n.eq_ignore_ascii_case(name)))
    {
        return why_not(format!("`{other}` is taken"));
    }
    if let Some(other) = &outline.edges()[index].name {
        return why_not(format!("{} is named `{other}` already", outline.label(index)));
    }
    outline.edges_mut()[index].name = Some(name.to_owned());
    Ok(())
}
