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

/// Puts `bytes` at a path where there may be no file yet: whole, or not at
/// all.
pub(crate) fn write_at(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    if path.exists() {
        return write_whole(path, bytes);
    }
    create(path, bytes)
        .map_err(|error| Failure::system(format!("cannot write {}", path.display()), &error))
}

fn create(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let folder = path.parent().filter(|folder| *folder != Path::new(""));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".gutta-");
    // For everybody, as far as the system's own mask allows.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut beside = builder.tempfile_in(folder.unwrap_or(Path::new(".")))?;
    beside.write_all(bytes)?;
    beside.as_file().sync_all()?;
    beside
        .persist_noclobber(path)
        .map_err(|error| error.error)?;
    Ok(())
}

fn replace(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let real = path.canonicalize()?;
    let metadata = std::fs::metadata(&real)?;
    if metadata.is_dir() {
        return Err(std::io::ErrorKind::IsADirectory.into());
    }
    // A device or a pipe is not to make way for a file.
    if !metadata.is_file() {
        return Err(std::io::Error::other("it is no plain file"));
    }
    let permissions = metadata.permissions();
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
