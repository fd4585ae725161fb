//! Arrays as NPY files (NumPy's `numpy/lib/format.py`, version 1.0 of the format), as far as a kept piece needs them: little
//! endian, C order, no objects. A general reader would have to take in any literal of another language.

/// The head of an array of numbers of a kind, such as `<f4`, padded so that the numbers start at a multiple of 64 bytes, as
/// the format's definition asks.
pub fn head(kind: &str, shape: &[usize]) -> Vec<u8> {
    let mut header = format!("{{'descr': '{kind}', 'fortran_order': False, 'shape': {}, }}", sizes(shape));
    // Magic, version and length take 10 bytes, the line feed one.
    let padding = (10 + header.len() + 1).next_multiple_of(64) - 11 - header.len();
    header.extend(std::iter::repeat_n(' ', padding));
    header.push('\n');
    let mut bytes = b"\x93NUMPY\x01\x00".to_vec();
    bytes.extend((header.len() as u16).to_le_bytes());
    bytes.extend(header.into_bytes());
    bytes
}

/// The numbers of an array of this kind and shape; or what is wrong with it.
pub(super) fn numbers<'a>(bytes: &'a [u8], kind: &str, shape: &[usize]) -> Result<&'a [u8], String> {
    let length = match bytes {
        [0x93, b'N', b'U', b'M', b'P', b'Y', 1, _, low, high, ..] => usize::from(u16::from_le_bytes([*low, *high])),
        _ => return Err("is no array in NPY format 1".to_owned()),
    };
    let (header, numbers) = bytes[10..].split_at_checked(length).ok_or("ends within its head")?;
    let header: String = String::from_utf8_lossy(header).split_whitespace().collect();
    let shape = sizes(shape).replace(' ', "");
    for (key, value) in [("descr", format!("'{kind}'")), ("fortran_order", "False".to_owned()), ("shape", shape)] {
        if !header.contains(&format!("'{key}':{value}")) {
            return Err(format!("should have {key} {value}, but its head is {header:.100}"));
        }
    }
    Ok(numbers)
}

/// A shape as a head has it.
fn sizes(shape: &[usize]) -> String {
    let sizes: Vec<String> = shape.iter().map(usize::to_string).collect();
    format!("({}{})", sizes.join(", "), if shape.len() == 1 { "," } else { "" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_and_nothing_else() {
        let mut bytes = head("<f4", &[3, 2]);
        assert_eq!(bytes.len() % 64, 0);
        assert!(bytes.starts_with(b"\x93NUMPY\x01\x00"));
        bytes.extend([1, 2, 3]);
        assert_eq!(numbers(&bytes, "<f4", &[3, 2]), Ok(&[1, 2, 3][..]));
        assert!(numbers(&bytes, "<f8", &[3, 2]).unwrap_err().contains("descr"));
        assert!(numbers(&bytes, "<f4", &[2, 3]).unwrap_err().contains("shape"));
        assert!(numbers(&bytes[..40], "<f4", &[3, 2]).unwrap_err().contains("ends"));
        assert!(numbers(b"PK", "<f4", &[3, 2]).is_err());
        // As another writer lays it out.
        let other = b"{'shape':(5, ), 'fortran_order':False,'descr':'<u2'}";
        let mut bytes = b"\x93NUMPY\x01\x00".to_vec();
        bytes.extend((other.len() as u16).to_le_bytes());
        bytes.extend(other);
        assert_eq!(numbers(&bytes, "<u2", &[5]), Ok(&[][..]));
    }
}
