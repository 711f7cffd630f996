//! Links the speech engines that `scripts/setup` puts under `vendor/`.
//!
//! Vosk is a shared library: its folder goes into the run path, so that `cargo run` and
//! `cargo test` find it with no environment variable. PocketSphinx is C source, compiled here.

use std::path::{Path, PathBuf};

const REMEDY: &str =
    "run `scripts/setup`, or build with `--no-default-features` and only the features you want";

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    let vendor = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("vendor");
    if cfg!(feature = "vosk") {
        link_vosk(&vendor.join("vosk"));
    }
    #[cfg(feature = "pocketsphinx")]
    pocketsphinx::compile(&vendor.join("pocketsphinx"));
}

fn link_vosk(folder: &Path) {
    let library = folder.join("libvosk.so");
    println!("cargo::rerun-if-changed={}", library.display());
    if !library.is_file() {
        println!("cargo::error=`vendor/vosk/libvosk.so` is missing; {REMEDY}");
        return;
    }
    println!("cargo::rustc-link-search=native={}", folder.display());
    println!("cargo::rustc-link-arg=-Wl,-rpath,{}", folder.display());
}

#[cfg(feature = "pocketsphinx")]
mod pocketsphinx {
    use std::path::{Path, PathBuf};
    use std::{env, fs, io};

    /// What the source's own build would find out about a 64-bit Unix.
    const CONFIG: &str = "\
#define HAVE_LONG_LONG 1
#define HAVE_POPEN 1
#define HAVE_SNPRINTF 1
#define HAVE_SYS_STAT_H 1
#define HAVE_SYS_TYPES_H 1
#define HAVE_UNISTD_H 1
#define HAVE_INTTYPES_H 1
#define HAVE_STDINT_H 1
#define SIZEOF_LONG 8
#define SIZEOF_LONG_LONG 8
#define PACKAGE_VERSION \"5.1.1\"
";

    /// What reaches into the library where its public functions do not.
    const OURS: &str = "src/hearing/pocketsphinx/scores.c";

    pub fn compile(folder: &Path) {
        println!(
            "cargo::rerun-if-changed={}",
            folder.join(".made-from").display()
        );
        if !folder.join("include/pocketsphinx.h").is_file() {
            println!(
                "cargo::error=`vendor/pocketsphinx` is missing; {}",
                super::REMEDY
            );
            return;
        }
        if let Err(why) = build(folder) {
            println!("cargo::error=`vendor/pocketsphinx` does not build: {why}");
        }
    }

    fn build(folder: &Path) -> Result<(), Box<dyn std::error::Error>> {
        let out = PathBuf::from(env::var("OUT_DIR")?);
        fs::write(out.join("config.h"), CONFIG)?;
        fs::write(out.join("sphinx_config.h"), CONFIG)?;
        fs::create_dir_all(out.join("pocketsphinx"))?;
        fs::write(out.join("pocketsphinx/sphinx_config.h"), CONFIG)?;
        let mut files = Vec::new();
        c_files(&folder.join("src"), &mut files)?;
        files.sort();
        println!("cargo::rerun-if-changed={OURS}");
        files.push(PathBuf::from(OURS));
        cc::Build::new()
            .files(files)
            .include(folder.join("include"))
            .include(folder.join("src"))
            .include(&out)
            .define("HAVE_CONFIG_H", None)
            .define("WEBRTC_POSIX", None)
            .define("POCKETSPHINX_BUILD", None)
            // A decoder that is not optimized cannot keep up with speech, debug build or not.
            .opt_level(2)
            .debug(false)
            .warnings(false)
            .try_compile("pocketsphinx")?;
        println!("cargo::rustc-link-lib=m");
        Ok(())
    }

    fn c_files(folder: &Path, files: &mut Vec<PathBuf>) -> io::Result<()> {
        for entry in fs::read_dir(folder)? {
            let path = entry?.path();
            if path.is_dir() {
                c_files(&path, files)?;
            } else if path.extension().is_some_and(|ending| ending == "c") {
                files.push(path);
            }
        }
        Ok(())
    }
}
