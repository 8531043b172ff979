//! The audit in a check's result, in short.

use serde::Serialize;

/// The quick part of an audit, in short.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct MeshAudit {
    /// The worst outcome.
    pub outcome: crate::audit::model::Outcome,
    /// Checks that failed, and how many faults each has.
    pub failed: Vec<(&'static str, usize)>,
    /// In one line.
    pub text: String,
}

impl MeshAudit {
    /// In short what an audit says.
    pub fn new(audit: &crate::audit::model::Audit) -> Self {
        let failed: Vec<(&'static str, usize)> = audit
            .checks
            .iter()
            .filter(|c| c.outcome == crate::audit::model::Outcome::Fail)
            .map(|c| (c.id, c.count))
            .collect();
        let list: Vec<String> = failed.iter().map(|(id, count)| format!("{id} {count}")).collect();
        Self {
            outcome: audit.outcome(),
            text: if failed.is_empty() {
                "the mesh is sound".to_string()
            } else {
                format!(
                    "the mesh is not sound: {} (`drawntrue audit` says where)",
                    list.join(", ")
                )
            },
            failed,
        }
    }
}
