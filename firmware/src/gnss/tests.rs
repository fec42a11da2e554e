//! The receiver's messages, against another project's, and streams with rubbish in them.

use super::frame::{Frames, checksum};
use super::messages::{self, COUNT};
use super::pvt::{Pvt, Utc, Velocity};
use super::receiver::Receiver;
use chirrup_core::Micros;
use proptest::prelude::*;
use std::vec::Vec;

/// A message of 92 bytes with this velocity, which is good.
pub(crate) fn message(velocity: Velocity) -> Vec<u8> {
    let mut payload = [0_u8; 92];
    payload[4..12].copy_from_slice(&[0xEA, 0x07, 7, 14, 11, 22, 33, 0x07]);
    (payload[20], payload[21]) = (3, 1);
    payload[48..52].copy_from_slice(&velocity.north_mmps.to_le_bytes());
    payload[52..56].copy_from_slice(&velocity.east_mmps.to_le_bytes());
    payload[56..60].copy_from_slice(&velocity.down_mmps.to_le_bytes());
    payload[68..72].copy_from_slice(&250_u32.to_le_bytes());
    framed(&payload)
}

fn framed(payload: &[u8]) -> Vec<u8> {
    let mut bytes = [0xB5, 0x62, 0x01, 0x07, payload.len() as u8, 0].to_vec();
    bytes.extend_from_slice(payload);
    let sum = checksum(&bytes[2..]);
    bytes.extend_from_slice(&sum);
    bytes
}

fn payloads(bytes: &[u8]) -> Vec<Vec<u8>> {
    let mut frames = Frames::default();
    bytes.iter().filter_map(|byte| frames.step(*byte)).map(|payload| payload.to_vec()).collect()
}

const FLOWN: Velocity = Velocity { north_mmps: 27_123, east_mmps: -14_001, down_mmps: -1_987 };

#[test]
fn velocity_and_time_are_read_and_a_bad_fix_has_none() {
    let bytes = message(FLOWN);
    let [payload] = &payloads(&bytes)[..] else { panic!("one message") };
    let pvt = Pvt::of(payload).unwrap();
    assert_eq!(pvt.velocity, Some(FLOWN));
    let utc = Utc { year: 2026, month: 7, day: 14, time: [11, 22, 33] };
    assert_eq!(pvt.utc, Some(utc));
    for (at, value) in [(20, 2), (20, 0), (21, 0), (70, 1), (51, 0x7F), (59, 0x80)] {
        let mut bad = payload.clone();
        bad[at] = value;
        assert_eq!(Pvt::of(&bad).unwrap().velocity, None, "{at}");
    }
    let mut unknown = payload.clone();
    unknown[11] = 0x03;
    assert_eq!(Pvt::of(&unknown).unwrap().utc, None);
    assert_eq!(Pvt::of(&payload[..60]), None);
    assert!(Pvt::of(&payload[..84]).unwrap().velocity.is_some(), "older receivers");
}

#[test]
fn another_project_reads_the_same_of_the_same_bytes() {
    // Crate ublox 0.10.
    let bytes = message(FLOWN);
    let mut parser = ublox::Parser::<Vec<u8>, ublox::proto23::Proto23>::new(Vec::new());
    let mut found = parser.consume_ubx(&bytes);
    let Some(Ok(ublox::UbxPacket::Proto23(ublox::proto23::PacketRef::NavPvt(theirs)))) =
        found.next()
    else {
        panic!("it does not know the message")
    };
    let close =
        |metres: f64, millimetres: i32| (metres * 1e3 - f64::from(millimetres)).abs() < 1e-6;
    assert!(close(theirs.vel_north(), FLOWN.north_mmps));
    assert!(close(theirs.vel_east(), FLOWN.east_mmps));
    assert!(close(theirs.vel_down(), FLOWN.down_mmps));
    assert_eq!((theirs.year(), theirs.month(), theirs.day()), (2026, 7, 14));
    assert_eq!((theirs.hour(), theirs.min(), theirs.sec()), (11, 22, 33));
}

#[test]
fn a_whole_flight_of_bytes_in_pieces_gives_every_velocity_to_one_sample() {
    let mut receiver = Receiver::new(Micros(0));
    let mut taken = Vec::new();
    for n in 0..50 {
        let came = 1_000_000 + 200_000 * n;
        let bytes = message(Velocity { north_mmps: n as i32, ..FLOWN });
        for (place, piece) in bytes.chunks(32).enumerate() {
            receiver.receive(Micros(came + 8_333 * place as i64), piece);
        }
        for sample in 0..10 {
            taken.extend(receiver.take(Micros(came + 4_000 + 20_000 * sample)));
        }
    }
    assert_eq!(taken.len(), 50);
    // The last piece came 25 ms after the first, and 100 bytes take 26 ms at 38400 bits a second.
    assert!(taken.iter().enumerate().all(|(n, ground)| ground.velocity.north_mmps == n as i32));
    assert!(taken.iter().all(|ground| (0..30_000).contains(&ground.age_us)), "{taken:?}");
}

#[test]
fn a_velocity_of_later_waits_for_its_sample_and_an_old_one_is_dropped() {
    let mut receiver = Receiver::new(Micros(0));
    receiver.receive(Micros(2_000_000), &message(FLOWN));
    assert_eq!(receiver.take(Micros(1_900_000)), None, "a sample of before it came");
    assert_eq!(receiver.take(Micros(2_000_000)).map(|ground| ground.age_us), Some(26_041));
    assert_eq!(receiver.take(Micros(2_020_000)), None, "only once");
    receiver.receive(Micros(3_000_000), &message(FLOWN));
    assert_eq!(receiver.take(Micros(9_000_000)), None);
    assert_eq!(receiver.velocities(), 2);
}

#[test]
fn every_rate_is_tried_and_the_receiver_told_what_to_send() {
    let mut receiver = Receiver::new(Micros(0));
    let (mut rates, mut sent) = (Vec::new(), 0);
    for n in 0..1_200 {
        let now = Micros(n * 10_000);
        rates.push(receiver.bits_per_second(now));
        sent += usize::from(receiver.to_send(now).is_some());
    }
    rates.dedup();
    assert_eq!(rates, [38_400, 9_600, 115_200, 38_400]);
    assert_eq!(sent, 4 * COUNT);
    receiver.receive(Micros(12_000_000), &message(FLOWN));
    assert!(receiver.is_heard());
    for n in 0..1_000 {
        let now = Micros(12_000_000 + n * 10_000);
        if n % 20 == 0 {
            receiver.receive(now, &message(FLOWN));
        }
        assert_eq!(receiver.bits_per_second(now), 38_400);
        assert_eq!(receiver.to_send(now), None);
    }
    assert_ne!(receiver.bits_per_second(Micros(30_000_000)), 38_400, "it is gone");
    assert!(receiver.was_heard() && !receiver.is_heard());
}

#[test]
fn what_the_receiver_is_told_is_what_another_project_would_say() {
    use ublox::cfg_msg::CfgMsgSinglePortBuilder;
    let pvt = CfgMsgSinglePortBuilder { msg_class: 0x01, msg_id: 0x07, rate: 1 };
    assert_eq!(messages::message(0).unwrap(), pvt.into_packet_bytes());
    use ublox::cfg_rate::{AlignmentToReferenceTime, CfgRateBuilder};
    let rate = CfgRateBuilder {
        measure_rate_ms: 200,
        nav_rate: 1,
        time_ref: AlignmentToReferenceTime::Gps,
    };
    assert_eq!(messages::message(1).unwrap(), rate.into_packet_bytes());
    use ublox::cfg_val::CfgVal;
    use ublox::packets::cfg_val::{CfgLayerSet, CfgValSetBuilder};
    let mut values: Vec<u8> = Vec::new();
    CfgValSetBuilder {
        version: 0,
        layers: CfgLayerSet::RAM,
        reserved1: 0,
        cfg_data: &[
            CfgVal::Uart1OutProtNmea(false),
            CfgVal::MsgOutUbxNavPvtUart1(1),
            CfgVal::RateMeas(200),
            CfgVal::Uart1Baudrate(38_400),
        ],
    }
    .extend_to(&mut values);
    assert_eq!(messages::message(2).unwrap().to_vec(), values);
    use ublox::cfg_prt::{
        CfgPrtUartBuilder, DataBits, InProtoMask, OutProtoMask, Parity, StopBits, UartMode,
        UartPortId,
    };
    let port = CfgPrtUartBuilder {
        portid: UartPortId::Uart1,
        reserved0: 0,
        tx_ready: 0,
        mode: UartMode::new(DataBits::Eight, Parity::None, StopBits::One),
        baud_rate: 38_400,
        in_proto_mask: InProtoMask::UBLOX | InProtoMask::NMEA | InProtoMask::RTCM,
        out_proto_mask: OutProtoMask::UBLOX,
        flags: 0,
        reserved5: 0,
    };
    assert_eq!(messages::message(3).unwrap(), port.into_packet_bytes());
    assert_eq!(messages::message(COUNT), None);
}

/// Bytes as a line has them: rubbish, halves of messages, and beginnings of messages.
fn rubbish() -> impl Strategy<Value = Vec<u8>> {
    let cut = (any::<[i32; 3]>(), 0..100_usize).prop_map(|(axes, end)| {
        let [north_mmps, east_mmps, down_mmps] = axes;
        let mut bytes = message(Velocity { north_mmps, east_mmps, down_mmps });
        bytes.truncate(end);
        bytes
    });
    let heads = prop::sample::subsequence(std::vec![0xB5, 0x62, 0x01, 0x07, 92, 0], 0..=6);
    prop_oneof![prop::collection::vec(any::<u8>(), 0..150), cut, heads]
}

/// Whether these bytes begin with a whole message.
fn is_whole(bytes: &[u8]) -> bool {
    [84, 92].iter().any(|length| {
        let head = [0xB5, 0x62, 0x01, 0x07, *length, 0];
        let end = 6 + usize::from(*length);
        bytes.len() >= end + 2
            && bytes[..6] == head
            && bytes[end..end + 2] == checksum(&bytes[2..end])
    })
}

proptest! {
    #![proptest_config(ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn every_whole_message_is_found_and_none_that_was_not_sent(
        stream in prop::collection::vec(
            (rubbish(), prop::array::uniform3(-99_000..99_000_i32)),
            1..6,
        )
    ) {
        let mut bytes = Vec::new();
        let (mut sent, mut places) = (Vec::new(), Vec::new());
        for (before, [north_mmps, east_mmps, down_mmps]) in stream {
            let velocity = Velocity { north_mmps, east_mmps, down_mmps };
            bytes.extend(before);
            places.push(bytes.len());
            bytes.extend(message(velocity));
            sent.push(Some(velocity));
        }
        // Half a message and what follows it may by chance be one, once in 65 536 times by its
        // checksum, and more often where only the last byte is missing. Nobody can tell that it was
        // not sent.
        let whole = (0..bytes.len()).filter(|place| is_whole(&bytes[*place..]));
        prop_assume!(whole.eq(places));
        let found: Vec<_> =
            payloads(&bytes).iter().map(|payload| Pvt::of(payload).unwrap().velocity).collect();
        prop_assert_eq!(found, sent);
    }

    #[test]
    fn one_wrong_bit_costs_that_message_and_no_other(bit in 0..800_usize) {
        let mut bytes = message(FLOWN);
        bytes[bit / 8] ^= 1 << (bit % 8);
        bytes.extend(message(FLOWN));
        prop_assert_eq!(payloads(&bytes).len(), 1);
    }

    #[test]
    fn nothing_that_comes_panics(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let mut receiver = Receiver::new(Micros(i64::MIN));
        for (n, piece) in bytes.chunks(7).enumerate() {
            receiver.receive(Micros(i64::MAX - n as i64), piece);
            receiver.bits_per_second(Micros(n as i64));
            let _ = receiver.take(Micros(i64::MIN));
        }
        let _ = Pvt::of(&bytes);
    }
}
