//! Findings with one cause, told once.

use dropwise_geometry::{Unit, format_length};

use super::{Amount, Finding, names};

/// How many features a group names before it only counts.
const NAMED: usize = 8;

/// Findings that say the same of several features. The one that is farthest from what is wanted comes first.
#[derive(Clone, Debug, PartialEq)]
pub struct FindingGroup<'a> {
    /// The finding that is told in full.
    pub worst: &'a Finding,
    /// The others, in their order.
    pub others: Vec<&'a Finding>,
}

/// Findings gathered by what they say, each group where its first finding stands.
#[must_use]
pub fn gathered(findings: &[Finding]) -> Vec<FindingGroup<'_>> {
    let mut groups: Vec<FindingGroup<'_>> = Vec::new();
    for finding in findings {
        match groups.iter_mut().find(|group| is_same_cause(group.worst, finding)) {
            Some(group) if is_worse(finding, group.worst) => {
                let known = std::mem::replace(&mut group.worst, finding);
                group.others.insert(0, known);
            }
            Some(group) => group.others.push(finding),
            None => groups.push(FindingGroup { worst: finding, others: Vec::new() }),
        }
    }
    groups
}

fn is_same_cause(one: &Finding, other: &Finding) -> bool {
    let wanted = |finding: &Finding| finding.wanted.map(|amount| (amount.value() * 1e6).round());
    (one.severity, one.rule, &one.problem, &one.cure, &one.source)
        == (other.severity, other.rule, &other.problem, &other.cure, &other.source)
        && wanted(one) == wanted(other)
}

fn is_worse(one: &Finding, other: &Finding) -> bool {
    let off = |finding: &Finding| match (finding.found, finding.wanted) {
        (Some(found), Some(wanted)) => (Amount::value(found) - wanted.value()).abs(),
        _ => 0.0,
    };
    off(one) > off(other) + 1e-9
}

impl FindingGroup<'_> {
    /// How many findings it holds.
    #[must_use]
    pub fn count(&self) -> usize {
        1 + self.others.len()
    }

    /// All of them, the worst first.
    pub fn all(&self) -> impl Iterator<Item = &Finding> {
        std::iter::once(self.worst).chain(self.others.iter().copied())
    }

    /// The worst in one sentence, and which other features have the same fault; without a full stop.
    #[must_use]
    pub fn in_unit(&self, unit: Unit) -> String {
        let mut text = self.worst.in_unit(unit);
        if self.others.is_empty() {
            return text;
        }
        let name = |finding: &&Finding| match finding.at {
            Some(at) => format!("{} {}", finding.feature, names::place(at, |mm| format_length(mm, unit))),
            None => finding.feature.clone(),
        };
        let mut named: Vec<String> = self.others.iter().take(NAMED).map(name).collect();
        let left = self.others.len().saturating_sub(NAMED);
        if left > 0 {
            named.push(format!("{left} more"));
        }
        text.push_str(&format!("; {} in all, the others: {}", self.count(), named.join("; ")));
        text
    }
}
