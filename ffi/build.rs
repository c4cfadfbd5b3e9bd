//! Gives the shared library its name of the binary interface: while the version begins with 0, each minor is another.

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    if std::env::var("CARGO_CFG_TARGET_OS").as_deref() == Ok("linux") {
        let major = std::env::var("CARGO_PKG_VERSION_MAJOR").unwrap_or_default();
        let minor = std::env::var("CARGO_PKG_VERSION_MINOR").unwrap_or_default();
        let version = if major == "0" { format!("0.{minor}") } else { major };
        println!("cargo:rustc-cdylib-link-arg=-Wl,-soname,libcounterpoise.so.{version}");
    }
}
