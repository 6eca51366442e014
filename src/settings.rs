//! What a person chose at the first start: kept in a small file in the platform's folder for settings.

use crate::element::Standard;
use crate::scenario::Seat;
use serde::{Deserialize, Serialize};
use std::fs;
use std::io;
use std::path::PathBuf;

/// The choices.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Settings {
    /// The rule set that is drilled.
    #[serde(default)]
    pub standard: Standard,
    /// `monitoring` or `flying`, where a flight is begun from the first screen; the scenario's without one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seat: Option<String>,
}

impl Settings {
    /// The file, on platforms that have a place for it.
    #[must_use]
    pub fn file() -> Option<PathBuf> {
        use etcetera::BaseStrategy;
        let folders = etcetera::choose_base_strategy().ok()?;
        Some(folders.config_dir().join("hearback").join("settings.toml"))
    }

    /// What was chosen; none at the first start. A file that says nothing sound is left as it is, and chooses nothing.
    #[must_use]
    pub fn read() -> Option<Self> {
        let text = fs::read_to_string(Self::file()?).ok()?;
        Some(toml::from_str(&text).unwrap_or_default())
    }

    /// Keeps the choices.
    ///
    /// # Errors
    /// What the system says.
    pub fn keep(&self) -> io::Result<()> {
        let Some(file) = Self::file() else { return Ok(()) };
        if let Some(folder) = file.parent() {
            fs::create_dir_all(folder)?;
        }
        fs::write(file, toml::to_string(self).map_err(io::Error::other)?)
    }

    /// The seat.
    #[must_use]
    pub fn seat(&self) -> Option<Seat> {
        Seat::ALL.iter().find(|(name, _)| Some(*name) == self.seat.as_deref()).map(|(_, seat)| *seat)
    }
}
