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

#[cfg(test)]
mod tests {
    use dropwise_geometry::Point;

    use super::*;
    use crate::check::Severity;
    use crate::source::Source;

    fn finding(feature: &str, x: f64, found: f64) -> Finding {
        Finding {
            severity: Severity::Warn,
            rule: "hole to edge",
            feature: feature.to_owned(),
            at: Some(Point::new(x, 5.0)),
            found: Some(Amount::Length(found)),
            wanted: Some(Amount::Length(2.0)),
            problem: "is too near to the edge".to_owned(),
            cure: "Move it".to_owned(),
            source: Source::COMMON_PRACTICE,
        }
    }

    #[test]
    fn findings_of_one_cause_are_told_once_with_the_worst_first() {
        let other = Finding { cure: "File it".to_owned(), ..finding("hole 4 of 4", 70.0, 1.0) };
        let findings = [
            finding("hole 1 of 4", 10.0, 1.5),
            finding("hole 2 of 4", 30.0, 0.5),
            finding("hole 3 of 4", 50.0, 1.0),
            other,
        ];
        let groups = gathered(&findings);
        assert_eq!(groups.iter().map(FindingGroup::count).collect::<Vec<_>>(), [3, 1]);
        assert_eq!(
            groups[0].in_unit(Unit::Millimetre),
            "hole 2 of 4 at (30 mm, 5 mm) is too near to the edge: 0.5 mm, wanted 2 mm; 3 in all, the others: hole 1 of 4 at (10 \
             mm, 5 mm); hole 3 of 4 at (50 mm, 5 mm)"
        );
        assert_eq!(groups[0].all().count(), 3);
    }

    #[test]
    fn many_are_counted() {
        let findings: Vec<Finding> =
            (1..=20).map(|number| finding(&format!("hole {number} of 20"), f64::from(number), 1.0)).collect();
        let groups = gathered(&findings);
        assert_eq!((groups.len(), groups[0].count()), (1, 20));
        assert!(groups[0].in_unit(Unit::Millimetre).ends_with("hole 9 of 20 at (9 mm, 5 mm); 11 more"));
    }
}
