//! The objects of a PDF as they are written one after another: of what was written only the places are kept, for the table at
//! the end (ISO 32000-1:2008, 7.5).

use pdf_writer::{Chunk, Ref};
use std::io::{self, Write};

/// A file while it grows.
#[derive(Debug)]
pub(super) struct Objects<W> {
    out: W,
    /// Bytes written.
    at: u64,
    /// Where each object begins, by its number less one; 0 while it is not written.
    places: Vec<u64>,
}

impl<W: Write> Objects<W> {
    /// Begins the file.
    pub(super) fn new(out: W) -> io::Result<Self> {
        let mut objects = Self { out, at: 0, places: Vec::new() };
        // Four bytes above 127 tell other programs that this is no text (7.5.2).
        objects.write(b"%PDF-1.7\n%\x80\x80\x80\x80\n\n")?;
        Ok(objects)
    }

    /// The number of an object that will be written.
    pub(super) fn take(&mut self) -> Ref {
        self.places.push(0);
        Ref::new(i32::try_from(self.places.len()).unwrap_or(i32::MAX))
    }

    /// Writes the one object of this number.
    pub(super) fn put(&mut self, id: Ref, object: impl FnOnce(&mut Chunk)) -> io::Result<()> {
        let mut chunk = Chunk::new();
        object(&mut chunk);
        if let Some(place) = usize::try_from(id.get() - 1).ok().and_then(|k| self.places.get_mut(k)) {
            *place = self.at;
        }
        self.write(chunk.as_bytes())
    }

    /// Writes the table of places and the trailer, and gives what was written to.
    pub(super) fn finish(mut self, catalog: Ref, info: Ref) -> io::Result<W> {
        let (table, count) = (self.at, self.places.len() + 1);
        let mut text = format!("xref\n0 {count}\n0000000000 65535 f\r\n");
        for place in &self.places {
            text += &format!("{place:010} 00000 n\r\n");
        }
        text += &format!(
            "trailer\n<<\n  /Size {count}\n  /Root {} 0 R\n  /Info {} 0 R\n>>\nstartxref\n{table}\n%%EOF",
            catalog.get(),
            info.get()
        );
        self.write(text.as_bytes())?;
        Ok(self.out)
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.at += bytes.len() as u64;
        self.out.write_all(bytes)
    }
}
