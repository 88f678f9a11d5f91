//! Reading files: plain ones alone, and never without a bound.

use std::fs::{File, Metadata, OpenOptions};
use std::io::{self, Error, ErrorKind, Read};
use std::path::Path;

use gutta_protocol::Content;
use gutta_protocol::source::MAX_FILE_BYTES;

/// Reads a file, unless it is larger than the tool takes.
///
/// # Errors
/// Where it cannot be read, or is no plain file: a folder, a pipe, a device.
pub fn read(path: &Path) -> io::Result<Content> {
    let (file, size) = open(path)?;
    if size > MAX_FILE_BYTES {
        return Ok(Content::TooLarge(size));
    }
    read_bounded(file)
}

/// What a file of the workspace holds; `None` where there is none (any more).
/// One that is there and cannot be read is not passed over: it is a finding.
pub fn found(path: &Path) -> Option<Content> {
    use ErrorKind::{IsADirectory, NotADirectory, NotFound};
    match read(path) {
        Ok(content) => Some(content),
        Err(error) if matches!(error.kind(), IsADirectory | NotADirectory | NotFound) => None,
        Err(error) => Some(Content::Unreadable(plainly(&error))),
    }
}

/// Reads to the end, or to where the text is certainly too large: a stream or
/// a growing file has no size to ask for beforehand.
///
/// # Errors
/// Where reading fails.
pub fn read_bounded(from: impl Read) -> io::Result<Content> {
    let mut bytes = Vec::new();
    from.take(MAX_FILE_BYTES + 1).read_to_end(&mut bytes)?;
    let size = bytes.len() as u64;
    Ok(if size > MAX_FILE_BYTES {
        Content::TooLarge(size)
    } else {
        Content::Bytes(bytes)
    })
}

/// The most bytes of a file that the tool itself writes: a baseline, a site's
/// list.
pub const MAX_OWN_BYTES: u64 = 64 * 1024 * 1024;

/// The text of a file of at most so many bytes.
///
/// # Errors
/// Where it cannot be read, is no plain file, has more than `most` bytes, or is
/// not UTF-8.
pub fn text(path: &Path, most: u64) -> io::Result<String> {
    let (file, size) = open(path)?;
    let mut bytes = Vec::new();
    file.take(most + 1).read_to_end(&mut bytes)?;
    if size.max(bytes.len() as u64) > most {
        let why = format!("it has more than {most} bytes, and no more are read");
        return Err(Error::other(why));
    }
    String::from_utf8(bytes).map_err(|_| Error::other("it is not UTF-8"))
}

/// What the system says, in plain words.
#[must_use]
pub fn plainly(error: &Error) -> String {
    #[cfg(unix)]
    if error.raw_os_error() == Some(rustix::io::Errno::LOOP.raw_os_error()) {
        return "its links form a circle".to_owned();
    }
    match error.kind() {
        ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        ErrorKind::PermissionDenied => "the permission is missing".to_owned(),
        ErrorKind::IsADirectory => "it is a folder".to_owned(),
        ErrorKind::NotADirectory => "part of its path is a file, not a folder".to_owned(),
        ErrorKind::AlreadyExists => "something of that name is there already".to_owned(),
        ErrorKind::DirectoryNotEmpty => "the folder is not empty".to_owned(),
        ErrorKind::InvalidFilename => "its name is too long, or not allowed here".to_owned(),
        ErrorKind::ResourceBusy | ErrorKind::ExecutableFileBusy => {
            "another program is using it".to_owned()
        }
        ErrorKind::TooManyLinks => "it has too many names (hard links)".to_owned(),
        ErrorKind::CrossesDevices => "it lies on another disk".to_owned(),
        ErrorKind::OutOfMemory => "there is not enough memory".to_owned(),
        ErrorKind::BrokenPipe => "nothing reads it any more".to_owned(),
        ErrorKind::QuotaExceeded => "your share of the disk is used up".to_owned(),
        ErrorKind::FileTooLarge => "files may not be that large here".to_owned(),
        ErrorKind::StorageFull => "the disk is full".to_owned(),
        ErrorKind::ReadOnlyFilesystem => "the disk can only be read".to_owned(),
        _ => {
            let told = error.to_string();
            match told.rsplit_once(" (os error ") {
                Some((words, _)) => format!("the system says: {words}"),
                None => told,
            }
        }
    }
}

/// Opens a plain file, and says its size. Of a pipe nobody may ever write to,
/// so that none is waited for; what is opened is looked at once more.
fn open(path: &Path) -> io::Result<(File, u64)> {
    // To open a device may already move it.
    regular(&std::fs::metadata(path)?)?;
    let mut options = OpenOptions::new();
    options.read(true);
    #[cfg(unix)]
    {
        use rustix::fs::OFlags;
        use std::os::unix::fs::OpenOptionsExt;
        let flags = OFlags::NONBLOCK | OFlags::NOCTTY;
        options.custom_flags(flags.bits().try_into().unwrap_or_default());
    }
    let file = options.open(path)?;
    let meta = file.metadata()?;
    regular(&meta)?;
    Ok((file, meta.len()))
}

/// That it is a plain file.
///
/// # Errors
/// What else it is.
pub(super) fn regular(meta: &Metadata) -> io::Result<()> {
    let kind = meta.file_type();
    if kind.is_file() {
        return Ok(());
    }
    if kind.is_dir() {
        return Err(ErrorKind::IsADirectory.into());
    }
    let what = what_else(kind);
    Err(Error::other(format!("it is {what}, not a plain file")))
}

#[cfg(unix)]
fn what_else(kind: std::fs::FileType) -> &'static str {
    use std::os::unix::fs::FileTypeExt;
    if kind.is_fifo() {
        "a pipe"
    } else if kind.is_socket() {
        "a socket"
    } else {
        "a device"
    }
}

#[cfg(not(unix))]
fn what_else(_: std::fs::FileType) -> &'static str {
    "something else"
}
