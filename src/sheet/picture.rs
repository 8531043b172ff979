//! The decoded picture: upright, 8 bits a channel, in the channels of the file.

/// An upright picture with interleaved 8-bit channels.
#[derive(Debug, Clone)]
pub struct Picture {
    width: usize,
    height: usize,
    channels: Channels,
    data: Vec<u8>,
}

/// What a pixel consists of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Channels {
    /// One byte of grey.
    Grey,
    /// Grey and alpha.
    GreyAlpha,
    /// Red, green, blue.
    Rgb,
    /// Red, green, blue, alpha, not premultiplied.
    Rgba,
}

impl Channels {
    /// Bytes a pixel.
    pub const fn count(self) -> usize {
        match self {
            Self::Grey => 1,
            Self::GreyAlpha => 2,
            Self::Rgb => 3,
            Self::Rgba => 4,
        }
    }
}

impl Picture {
    /// Wraps pixel data.
    ///
    /// # Panics
    /// If the data's length is not `width * height * channels`.
    pub fn new(width: usize, height: usize, channels: Channels, data: Vec<u8>) -> Self {
        assert_eq!(
            data.len(),
            width * height * channels.count(),
            "pixel data of the wrong length"
        );
        Self {
            width,
            height,
            channels,
            data,
        }
    }

    /// Width in pixels.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Height in pixels.
    pub fn height(&self) -> usize {
        self.height
    }

    /// The channels of a pixel.
    pub fn channels(&self) -> Channels {
        self.channels
    }

    /// The bytes of one row.
    pub fn row(&self, y: usize) -> &[u8] {
        let n = self.width * self.channels.count();
        &self.data[y * n..(y + 1) * n]
    }

    /// All bytes, row after row.
    pub(super) fn bytes(&self) -> &[u8] {
        &self.data
    }

    /// The four bytes of grey pixels in two columns and two rows from `(x, y)` on, row after row; those beyond the right
    /// and lower border are the border's. Only of a picture of [`Channels::Grey`].
    #[inline]
    pub(super) fn grey_square(&self, x: usize, y: usize) -> [u8; 4] {
        let at = y * self.width + x;
        if x + 1 < self.width && y + 1 < self.height {
            let (above, below) = (
                &self.data[at..at + 2],
                &self.data[at + self.width..at + self.width + 2],
            );
            return [above[0], above[1], below[0], below[1]];
        }
        let right = usize::from(x + 1 < self.width);
        let down = usize::from(y + 1 < self.height) * self.width;
        [at, at + right, at + down, at + down + right].map(|i| self.data[i])
    }

    /// Red, green, blue and alpha of a pixel.
    pub fn rgba(&self, x: usize, y: usize) -> [u8; 4] {
        let n = self.channels.count();
        let p = &self.data[(y * self.width + x) * n..][..n];
        match self.channels {
            Channels::Grey => [p[0], p[0], p[0], 255],
            Channels::GreyAlpha => [p[0], p[0], p[0], p[1]],
            Channels::Rgb => [p[0], p[1], p[2], 255],
            Channels::Rgba => [p[0], p[1], p[2], p[3]],
        }
    }
}
