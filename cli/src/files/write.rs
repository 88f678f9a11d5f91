//! Writing a file whole, or not at all.

use std::io::Write;
use std::path::Path;

use tempfile::NamedTempFile;

use crate::failure::Failure;

/// Puts `bytes` in the place of the file at `path`: they are written beside it
/// and take its name at once, with its permissions. A link stays a link: what
/// it points to is written.
pub(crate) fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    replace(path, bytes)
        .map_err(|error| Failure::system(format!("cannot write {}", path.display()), &error))
}

fn replace(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let real = path.canonicalize()?;
    let permissions = std::fs::metadata(&real)?.permissions();
    if permissions.readonly() {
        return Err(std::io::ErrorKind::PermissionDenied.into());
    }
    let folder = real.parent().unwrap_or(Path::new("."));
    let mut beside = NamedTempFile::with_prefix_in(".gutta-", folder)?;
    beside.write_all(bytes)?;
    beside.as_file().set_permissions(permissions)?;
    beside.as_file().sync_all()?;
    beside.persist(&real).map_err(|error| error.error)?;
    Ok(())
}
