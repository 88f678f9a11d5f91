//! What a file holds, as a number that no other content has.

use std::fmt;
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use sha2::{Digest as _, Sha256};

/// The SHA-256 (FIPS 180-4) of some bytes; written as 64 hexadecimal digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Digest([u8; 32]);

impl Digest {
    /// Of some bytes.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// Of what the file holds; `None` where it is no plain file. A link is not
    /// followed.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub fn of_file(path: &Path) -> io::Result<Option<Self>> {
        if !std::fs::symlink_metadata(path)?.is_file() {
            return Ok(None);
        }
        let mut file = open(path)?;
        if !file.metadata()?.is_file() {
            return Ok(None);
        }
        let mut digest = Sha256::new();
        let mut piece = vec![0; 64 * 1024];
        loop {
            match file.read(&mut piece) {
                Ok(0) => break,
                Ok(count) => digest.update(piece.get(..count).unwrap_or_default()),
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        Ok(Some(Self(digest.finalize().into())))
    }

    /// From 64 hexadecimal digits, in small letters.
    #[must_use]
    pub fn read(digits: &str) -> Option<Self> {
        let small = |byte: u8| matches!(byte, b'0'..=b'9' | b'a'..=b'f');
        if digits.len() != 64 || !digits.bytes().all(small) {
            return None;
        }
        let mut bytes = [0; 32];
        for (at, byte) in bytes.iter_mut().enumerate() {
            *byte = u8::from_str_radix(digits.get(2 * at..2 * at + 2)?, 16).ok()?;
        }
        Some(Self(bytes))
    }

    /// Its first 32 digits: enough for a name.
    pub(super) fn short(&self) -> String {
        self.to_string().chars().take(32).collect()
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(out, "{byte:02x}"))
    }
}

/// Neither follows a link nor waits for whoever is at a pipe's other end.
#[cfg(unix)]
fn open(path: &Path) -> io::Result<File> {
    use rustix::fs::{Mode, OFlags};
    let flags = OFlags::RDONLY | OFlags::NOFOLLOW | OFlags::NONBLOCK | OFlags::CLOEXEC;
    Ok(rustix::fs::open(path, flags, Mode::empty())?.into())
}

#[cfg(not(unix))]
fn open(path: &Path) -> io::Result<File> {
    File::open(path)
}
