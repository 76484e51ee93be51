//! A folder to work in, and the command run there.

use std::path::PathBuf;
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

pub(crate) struct Desk {
    folder: TempDir,
}

impl Desk {
    pub(crate) fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    /// A desk with one file on it.
    pub(crate) fn with(name: &str, content: impl AsRef<[u8]>) -> Self {
        let desk = Self::new();
        std::fs::write(desk.path(name), content).unwrap();
        desk
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap()
    }

    fn run(&self, arguments: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_strewn"))
            .args(arguments)
            .current_dir(self.folder.path())
            .stdin(Stdio::null())
            .output()
            .unwrap()
    }

    /// What a command that must succeed prints; nothing may stand on stderr.
    #[track_caller]
    pub(crate) fn told(&self, arguments: &[&str]) -> String {
        let output = self.run(arguments);
        let complaint = String::from_utf8(output.stderr).unwrap();
        assert!(output.status.success(), "{arguments:?}: {complaint}");
        assert_eq!(complaint, "");
        String::from_utf8(output.stdout).unwrap()
    }

    /// A command that must fail as wrong use does: one sentence with all of `words`, nothing printed,
    /// nothing written.
    #[track_caller]
    pub(crate) fn refuses(&self, arguments: &[&str], words: &[&str]) {
        let count = || std::fs::read_dir(self.folder.path()).unwrap().count();
        let before = count();
        let output = self.run(arguments);
        let told = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {told}");
        assert!(output.stdout.is_empty());
        assert!(told.starts_with("strewn: ") && told.lines().count() == 1, "{told}");
        for word in words {
            assert!(told.contains(word), "no {word:?} in: {told}");
        }
        assert_eq!(count(), before, "something was written");
    }
}
