//! Lines in, lines out: streaming, in parallel, in order, with flat memory.

use memchr::memrchr;
use rayon::prelude::*;
use std::io::{self, Read, Write};

/// Bytes of one block; a line longer than this grows its block.
const BLOCK: usize = 256 * 1024;
/// Blocks that are worked on at once.
const AT_ONCE: usize = 8;
/// A line longer than this is refused, so that no input can fill the memory.
pub const LONGEST_LINE: usize = 1 << 20;

/// A byte order mark; some editors put it at the start of a file.
const MARK: &[u8] = b"\xef\xbb\xbf";

/// A line that the work refused: what to write in its place is already in the output.
pub type Failed = bool;

/// Reads lines from `input`, gives each to `work` (line, its number from 1, output) on all cores and
/// writes what comes out in order. A byte order mark at the start is skipped. Returns how many lines failed.
///
/// # Errors
/// Reading or writing failed; a closed pipe on the output is an error of kind `BrokenPipe`.
pub fn run(
    input: &mut dyn Read,
    output: &mut dyn Write,
    work: impl Fn(&[u8], u64, &mut Vec<u8>) -> Failed + Sync,
) -> io::Result<u64> {
    let mut failed = 0;
    let mut line = 1u64;
    let mut rest: Vec<u8> = Vec::new();
    let mut ended = false;
    while !ended {
        let mut blocks: Vec<(u64, Vec<u8>)> = Vec::with_capacity(AT_ONCE);
        while blocks.len() < AT_ONCE && !ended {
            let mut block = std::mem::take(&mut rest);
            let start = block.len();
            block.resize(start + BLOCK, 0);
            let mut filled = start;
            while filled < block.len() {
                match input.read(&mut block[filled..]) {
                    Ok(0) => {
                        ended = true;
                        break;
                    }
                    Ok(n) => filled += n,
                    Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
                    Err(e) => return Err(e),
                }
            }
            block.truncate(filled);
            if !ended {
                match memrchr(b'\n', &block) {
                    Some(cut) => rest = block.split_off(cut + 1),
                    None if block.len() <= LONGEST_LINE + BLOCK => {
                        rest = block;
                        continue;
                    }
                    None => {
                        // Too long to be kept: what is over is dropped up to the line's end.
                        block.truncate(LONGEST_LINE + 1);
                        ended = skip_line(input, &mut rest)?;
                    }
                }
            }
            if block.is_empty() {
                continue;
            }
            let lines = bytecount(&block);
            blocks.push((line, block));
            line += lines;
        }
        let done: Vec<(Vec<u8>, u64)> = blocks
            .into_par_iter()
            .map(|(first, block)| {
                let mut out = Vec::with_capacity(block.len());
                let mut bad = 0;
                for (i, text) in lines(&block).enumerate() {
                    let text = text.strip_suffix(b"\r").unwrap_or(text);
                    let number = first + i as u64;
                    let text = if number == 1 { text.strip_prefix(MARK).unwrap_or(text) } else { text };
                    if !text.iter().all(u8::is_ascii_whitespace) {
                        bad += u64::from(work(text, number, &mut out));
                    }
                }
                (out, bad)
            })
            .collect();
        for (out, bad) in done {
            output.write_all(&out)?;
            failed += bad;
        }
    }
    output.flush()?;
    Ok(failed)
}

/// Lines of a block without their ends.
fn lines(block: &[u8]) -> impl Iterator<Item = &[u8]> {
    let ends = memchr::memchr_iter(b'\n', block).chain(std::iter::once(block.len()));
    ends.scan(0, |start, end| {
        let line = &block[*start..end];
        *start = end + 1;
        Some(line)
    })
}

/// Lines of a block, a last one without its end counted.
fn bytecount(block: &[u8]) -> u64 {
    let ends = memchr::memchr_iter(b'\n', block).count() as u64;
    ends + u64::from(block.last() != Some(&b'\n'))
}

/// Reads on to the end of an overlong line; keeps what follows. True at the end of the input.
fn skip_line(input: &mut dyn Read, rest: &mut Vec<u8>) -> io::Result<bool> {
    let mut buffer = vec![0; BLOCK];
    loop {
        let n = input.read(&mut buffer)?;
        if n == 0 {
            return Ok(true);
        }
        if let Some(end) = memchr::memchr(b'\n', &buffer[..n]) {
            rest.extend_from_slice(&buffer[end + 1..n]);
            return Ok(false);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn echo(text: &str) -> (String, u64) {
        let mut out = Vec::new();
        let failed = run(&mut text.as_bytes(), &mut out, |line, number, out| {
            out.extend_from_slice(format!("{number}:{}\n", line.len()).as_bytes());
            line == b"bad"
        });
        (String::from_utf8(out).unwrap(), failed.unwrap())
    }

    #[test]
    fn lines_keep_their_order_and_number() {
        assert_eq!(echo("a\n\nbad\r\nccc"), ("1:1\n3:3\n4:3\n".into(), 1));
        assert_eq!(echo(""), (String::new(), 0));
        let many: String = (0..200_000).map(|i| format!("{i}\n")).collect();
        let (out, _) = echo(&many);
        assert!(out.lines().enumerate().all(|(i, l)| l == format!("{}:{}", i + 1, i.to_string().len())));
    }

    #[test]
    fn a_byte_order_mark_is_skipped_at_the_start_and_nowhere_else() {
        assert_eq!(echo("\u{feff}a\n\u{feff}b"), ("1:1\n2:4\n".into(), 0));
        assert_eq!(echo("\u{feff}\nb"), ("2:1\n".into(), 0));
    }

    #[test]
    fn an_endless_line_is_cut_and_the_next_one_read() {
        let text = format!("{}\nnext\n", "x".repeat(3 * LONGEST_LINE));
        let (out, _) = echo(&text);
        assert_eq!(out.lines().count(), 2);
        assert!(out.ends_with("2:4\n"), "{out}");
    }
}
