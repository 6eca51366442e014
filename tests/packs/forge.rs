//! Zips made by hand, so that they can lie.

/// An entry of a zip as it is written, byte for byte.
#[derive(Clone)]
pub(crate) struct Entry {
    pub(crate) name: Vec<u8>,
    /// The name in front of the data, if it is another.
    pub(crate) local: Option<Vec<u8>>,
    pub(crate) data: Vec<u8>,
    pub(crate) method: u16,
    pub(crate) flags: u16,
    pub(crate) size: u32,
    pub(crate) crc: u32,
    pub(crate) mode: u32,
    /// Where its data are, if they are those of an entry before it.
    pub(crate) shares: Option<usize>,
}

/// An honest entry, not compressed.
pub(crate) fn entry(name: &str, content: &[u8]) -> Entry {
    Entry {
        name: name.into(),
        local: None,
        data: content.to_vec(),
        method: 0,
        flags: 0,
        size: u32::try_from(content.len()).expect("small"),
        crc: rawzip::crc32(content),
        mode: 0o100_644,
        shares: None,
    }
}

/// An honest entry, compressed.
pub(crate) fn packed(name: &str, content: &[u8]) -> Entry {
    let data = miniz_oxide::deflate::compress_to_vec(content, 9);
    Entry { data, method: 8, ..entry(name, content) }
}

/// The zip of these entries.
pub(crate) fn zip(entries: &[Entry]) -> Vec<u8> {
    let mut out: Vec<u8> = Vec::new();
    let mut list = Vec::new();
    let mut places: Vec<u32> = Vec::new();
    let short = |n: usize| u16::try_from(n).expect("short").to_le_bytes();
    let long = |n: usize| u32::try_from(n).expect("not long").to_le_bytes();
    for entry in entries {
        let place = entry.shares.map_or(u32::try_from(out.len()).expect("small"), |at| places[at]);
        places.push(place);
        let common = |out: &mut Vec<u8>, name: &[u8]| {
            out.extend(entry.flags.to_le_bytes());
            out.extend(entry.method.to_le_bytes());
            out.extend([0, 0, 0x21, 0]);
            out.extend(entry.crc.to_le_bytes());
            out.extend(long(entry.data.len()));
            out.extend(entry.size.to_le_bytes());
            out.extend(short(name.len()));
            out.extend([0, 0]);
        };
        if entry.shares.is_none() {
            let name = entry.local.as_ref().unwrap_or(&entry.name);
            out.extend(b"PK\x03\x04\x14\x00");
            common(&mut out, name);
            out.extend(name);
            out.extend(&entry.data);
        }
        list.extend(b"PK\x01\x02\x14\x03\x14\x00");
        common(&mut list, &entry.name);
        list.extend([0; 6]);
        list.extend((entry.mode << 16).to_le_bytes());
        list.extend(place.to_le_bytes());
        list.extend(&entry.name);
    }
    let start = out.len();
    out.extend(&list);
    out.extend(b"PK\x05\x06\x00\x00\x00\x00");
    out.extend(short(entries.len()));
    out.extend(short(entries.len()));
    out.extend(long(list.len()));
    out.extend(long(start));
    out.extend([0, 0]);
    out
}
