//! The limit on what a visitor loads: each wasm as a host would compress it.

use std::path::Path;

use anyhow::{Context, Result, bail};
use brotli::enc::BrotliEncoderParams;

use crate::page::{MODULES, Module};

/// The most that a compressed wasm may weigh, in bytes.
const LIMIT: usize = 250 * 1024;

/// Prints the size of every wasm in `dist`, raw and after brotli; an error when one is above the limit.
pub fn check(dist: &Path) -> Result<()> {
    let mut above = Vec::new();
    for Module { library, .. } in MODULES {
        let file = dist.join(format!("pkg/{library}_bg.wasm"));
        let wasm = std::fs::read(&file).with_context(|| format!("cannot read {}", file.display()))?;
        let compressed = compressed_size(&wasm)?;
        let share = 100.0 * compressed as f64 / LIMIT as f64;
        println!("{library}: {} bytes, {compressed} after brotli, {share:.1} % of the limit of {LIMIT}", wasm.len());
        if compressed > LIMIT {
            above.push(format!("{library} is {} bytes above its limit", compressed.saturating_sub(LIMIT)));
        }
    }
    if !above.is_empty() {
        bail!("{}", above.join("; "));
    }
    Ok(())
}

/// Bytes after brotli at quality 11 with a window of 2^24 bytes.
fn compressed_size(data: &[u8]) -> Result<usize> {
    let params = BrotliEncoderParams { quality: 11, lgwin: 24, ..BrotliEncoderParams::default() };
    let mut compressed = Vec::new();
    brotli::BrotliCompress(&mut &data[..], &mut compressed, &params).context("brotli failed")?;
    Ok(compressed.len())
}
