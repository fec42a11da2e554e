//! What is being made, where, and the time that stands in all of it.

use crate::commit::Commit;
use anyhow::{Context, Result, anyhow};
use std::path::{Path, PathBuf};
use std::process::Command;

/// A release on its way.
pub struct Release {
    /// The project's folder.
    pub root: PathBuf,
    /// Where the archive and the single files go.
    pub out: PathBuf,
    /// What compilers leave, and the logs: apart from `target`, whose builds have other flags.
    pub work: PathBuf,
    /// Where the builds with the usual flags go.
    pub target: PathBuf,
    /// The version of the program, such as 0.1.0.
    pub version: String,
    /// The platform of the program, such as `x86_64-unknown-linux-gnu`.
    pub platform: String,
    /// The compiler of the program, as `rustc --version` names it.
    pub compiler: String,
    /// The commit that is checked out, where git says it.
    pub commit: Option<Commit>,
    /// The time in every file, seconds since 1970: `SOURCE_DATE_EPOCH`, or the last commit's.
    pub epoch_s: u64,
}

impl Release {
    /// The release of the commit that is checked out, into `out`.
    ///
    /// # Errors
    /// When cargo or the compiler cannot be run, or the time is not known.
    pub fn of_this_commit(out: &Path) -> Result<Self> {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("../..")
            .canonicalize()
            .context("the project's folder is gone; build xtask again")?;
        let compiler = printed(Command::new("rustc").arg("-vV").current_dir(&root))?;
        let line = |start: &str| {
            let found = compiler.lines().find_map(|line| line.strip_prefix(start));
            found.map(str::to_owned).ok_or_else(|| anyhow!("rustc -vV has no line '{start}'"))
        };
        let (version, target) = workspace(&root)?;
        Ok(Self {
            out: std::path::absolute(out)?,
            work: root.join("target/dist-work"),
            target,
            version,
            platform: line("host: ")?,
            compiler: compiler.lines().next().unwrap_or_default().to_owned(),
            commit: Commit::checked_out(&root, &[]),
            epoch_s: epoch_s(&root)?,
            root,
        })
    }

    /// The name of archive and folder.
    pub fn name(&self) -> String {
        format!("chirrup-{}-{}", self.version, self.platform)
    }

    /// The folder that becomes the archive.
    pub fn folder(&self) -> PathBuf {
        self.out.join(self.name())
    }

    /// The archive.
    pub fn archive(&self) -> PathBuf {
        self.out.join(format!("{}.tar.gz", self.name()))
    }

    /// The commit as its README.txt says it.
    pub fn commit(&self) -> String {
        self.commit.as_ref().map_or_else(|| "not known".to_owned(), Commit::exactly)
    }

    /// The program in it.
    pub fn program(&self) -> PathBuf {
        self.folder().join("bin").join(format!("chirrup{}", std::env::consts::EXE_SUFFIX))
    }

    /// Where the part `name` writes what its commands say.
    pub fn log(&self, name: &str) -> PathBuf {
        self.work.join("log").join(format!("{name}.txt"))
    }
}

/// What a command prints.
fn printed(command: &mut Command) -> Result<String> {
    let words = format!("{command:?}");
    let output = command.output().with_context(|| format!("cannot run {words}"))?;
    if !output.status.success() {
        let said = String::from_utf8_lossy(&output.stderr);
        return Err(anyhow!(
            "{words} failed: {}",
            said.lines().last().unwrap_or("no reason given")
        ));
    }
    Ok(String::from_utf8(output.stdout)?.trim().to_owned())
}

/// The version of the program, and the folder that the usual builds go to.
fn workspace(root: &Path) -> Result<(String, PathBuf)> {
    let metadata = cargo_metadata::MetadataCommand::new()
        .manifest_path(root.join("Cargo.toml"))
        .no_deps()
        .exec()?;
    let program = metadata.packages.iter().find(|package| package.name == "chirrup");
    let version = program.context("the workspace has no package chirrup")?.version.to_string();
    Ok((version, metadata.target_directory.into_std_path_buf()))
}

fn epoch_s(root: &Path) -> Result<u64> {
    let text = match std::env::var("SOURCE_DATE_EPOCH") {
        Ok(text) => text,
        Err(_) => {
            printed(Command::new("git").args(["log", "-1", "--format=%ct"]).current_dir(root))
                .context("no time for the files: set SOURCE_DATE_EPOCH, in seconds since 1970")?
        }
    };
    text.parse().with_context(|| format!("SOURCE_DATE_EPOCH: '{text}' is no number of seconds"))
}
