//! What belongs to a file beside its bytes, and is kept when another takes its
//! place.

use std::fs::{File, Metadata};
use std::io;
use std::path::{Path, PathBuf};

use super::Unwritten;

/// A plain file that is there.
#[derive(Debug)]
pub(super) struct ExistingFile {
    /// Where it is, behind any link.
    pub(super) real: PathBuf,
    meta: Metadata,
}

/// What is at a path. A link stays a link: what it leads to is meant.
pub(super) fn find(path: &Path) -> Result<Option<ExistingFile>, Unwritten> {
    let meta = match std::fs::symlink_metadata(path) {
        Ok(meta) => meta,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error.into()),
    };
    let real = path
        .canonicalize()
        .map_err(|error| match (meta.is_symlink(), error.kind()) {
            (true, io::ErrorKind::NotFound) => {
                io::Error::other("it is a link to a file that is not there")
            }
            _ => error,
        })?;
    let meta = std::fs::symlink_metadata(&real)?;
    if meta.is_dir() {
        return Err(io::Error::from(io::ErrorKind::IsADirectory).into());
    }
    // A device or a pipe is not to make way for a file.
    if !meta.is_file() {
        return Err(io::Error::other("it is no plain file").into());
    }
    Ok(Some(ExistingFile { real, meta }))
}

impl ExistingFile {
    /// Whoever may write into the folder could put another file in the place of
    /// one that is not to be written: that is not done.
    pub(super) fn may_be_written(&self) -> Result<(), Unwritten> {
        if self.meta.permissions().readonly() {
            return Err(io::Error::from(io::ErrorKind::PermissionDenied).into());
        }
        #[cfg(unix)]
        {
            use std::os::unix::fs::MetadataExt;
            rustix::fs::access(&self.real, rustix::fs::Access::WRITE_OK)
                .map_err(io::Error::from)?;
            if self.meta.nlink() > 1 {
                return Err(Unwritten::Linked(self.meta.nlink()));
            }
        }
        Ok(())
    }

    /// Gives to another file what belongs to this one.
    #[cfg(unix)]
    pub(super) fn give_to(&self, file: &File) -> io::Result<()> {
        use std::os::unix::fs::{MetadataExt, PermissionsExt};
        let mut mode = self.meta.mode() & 0o7777;
        let new = file.metadata()?;
        let (owner, group) = (self.meta.uid(), self.meta.gid());
        // To change the owner takes set-id bits away: it comes first.
        if (new.uid(), new.gid()) != (owner, group) {
            let (owner, group) = (
                rustix::fs::Uid::from_raw(owner),
                rustix::fs::Gid::from_raw(group),
            );
            let both = rustix::fs::fchown(file, Some(owner), Some(group));
            if both.is_err() {
                mode &= 0o777;
                if rustix::fs::fchown(file, None, Some(group)).is_err() {
                    // Another group gets no more than everybody.
                    mode = mode & !0o070 | (mode & 0o007) << 3;
                }
            }
        }
        file.set_permissions(std::fs::Permissions::from_mode(mode))?;
        self.give_attributes(file)
    }

    #[cfg(not(unix))]
    pub(super) fn give_to(&self, file: &File) -> io::Result<()> {
        file.set_permissions(self.meta.permissions())
    }

    /// The user's attributes, the label, and the access list. Without that one
    /// the file would be open to others than before.
    #[cfg(target_os = "linux")]
    fn give_attributes(&self, file: &File) -> io::Result<()> {
        use rustix::fs::{XattrFlags, fgetxattr, flistxattr, fsetxattr};
        const ACCESS: &[u8] = b"system.posix_acl_access";
        let Ok(old) = File::open(&self.real) else {
            return Ok(());
        };
        let mut names = Vec::with_capacity(64 * 1024);
        if flistxattr(&old, rustix::buffer::spare_capacity(&mut names)).is_err() {
            return Ok(());
        }
        for name in names.split(|byte| *byte == 0) {
            let known = [ACCESS, b"security.selinux"].contains(&name) || name.starts_with(b"user.");
            if !known {
                continue;
            }
            let mut value = Vec::with_capacity(64 * 1024);
            let given = fgetxattr(&old, name, rustix::buffer::spare_capacity(&mut value))
                .and_then(|_| fsetxattr(file, name, &value, XattrFlags::empty()));
            if given.is_err() && name == ACCESS {
                return Err(io::Error::other("its access list cannot be kept"));
            }
        }
        Ok(())
    }

    #[cfg(all(unix, not(target_os = "linux")))]
    fn give_attributes(&self, _file: &File) -> io::Result<()> {
        Ok(())
    }
}
