//! Modbus: exception codes and the check of a serial frame.

use super::parameter::{bytes, within};
use super::{Body, Function};

/// Code, name, and what it means in the field.
const EXCEPTIONS: [(f64, &str, &str); 9] = [
    (1.0, "illegal function", "the device does not know this function, or is in the wrong state for it"),
    (2.0, "illegal data address", "a register outside its map: of 100 registers, 4 from 96 work, 5 do not"),
    (
        3.0,
        "illegal data value",
        "the request is malformed (its count or length); not an application value out of range",
    ),
    (4.0, "server device failure", "the device found an error in itself while doing it"),
    (5.0, "acknowledge", "accepted, and takes long"),
    (6.0, "server device busy", "try again later"),
    (8.0, "memory parity error", "the check of its file memory failed"),
    (10.0, "gateway path unavailable", "the gateway is set up wrongly, or has too much to do"),
    (11.0, "gateway target device failed to respond", "the device behind the gateway is silent"),
];

/// A code, or the code of a reply; 0x80 more than the function that it answers is told in the reply's function byte.
fn exception(code: f64) -> Result<Vec<String>, String> {
    match EXCEPTIONS.iter().find(|(known, _, _)| *known == code) {
        Some((code, name, meaning)) => Ok(vec![
            format!("{:02X}: {name}", *code as u8),
            (*meaning).to_owned(),
            "the reply bears the function code plus 80 hexadecimal".to_owned(),
        ]),
        None => Err(format!("there is no exception code {code}: 1 to 6, 8, 10 (0A), 11 (0B)")),
    }
}

/// CRC-16/MODBUS: polynomial 8005 reflected (A001), begun with FFFF.
fn crc(bytes: &[f64]) -> Result<u16, String> {
    if bytes.is_empty() {
        return Err("no bytes given".to_owned());
    }
    let mut crc = 0xFFFF_u16;
    for &byte in bytes {
        if byte.fract() != 0.0 {
            return Err(format!("a byte is a whole number, not {byte}"));
        }
        crc ^= byte as u16;
        for _ in 0..8 {
            crc = if crc & 1 == 1 { (crc >> 1) ^ 0xA001 } else { crc >> 1 };
        }
    }
    Ok(crc)
}

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "modbus_exception",
        text: "what an exception code of Modbus means",
        parameters: &[within("code", "", 0.0, 255.0).plain()],
        gives: &[],
        formula: "table",
        source: "Modbus Application Protocol V1.1b3, section 7",
        body: Body::Text(|v| exception(v[0])),
    },
    Function {
        name: "modbus_crc",
        text: "check of a serial frame, from its bytes in hexadecimal: 01 03 00 00 00 0A",
        parameters: &[bytes("bytes…")],
        gives: &[],
        formula: "CRC-16/MODBUS: polynomial 8005 reflected, begun with FFFF, no final change; the low byte is sent first",
        source: "catalogue of CRC algorithms, CRC-16/MODBUS (check 4B37), computed",
        body: Body::Told(
            |v| crc(v).map(f64::from),
            |_, value| {
                let [low, high] = (value as u16).to_le_bytes();
                vec![format!("hexadecimal {high:02X}{low:02X}, sent as {low:02X} {high:02X}")]
            },
        ),
    },
];
