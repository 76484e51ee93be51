//! What the emulated board logs, decoded with the words that stand in its image. `tests/run board` builds
//! the image and runs this.

use defmt_decoder::{DecodeError, Table};
use std::fs;
use strewn::board::{self, Board};
use strewn_link::fuzz::config;
use strewn_link::message::{Answer, Order};

/// The messages in the bytes of a log, each as a level and words.
fn messages(image: &[u8], bytes: &[u8]) -> Vec<String> {
    let table = Table::parse(image).expect("a whole image").expect("an image that logs");
    let mut decoder = table.new_stream_decoder();
    decoder.received(bytes);
    let mut messages = Vec::new();
    loop {
        match decoder.decode() {
            Ok(frame) => {
                let level = frame.level().map_or("print", |level| level.as_str());
                messages.push(format!("{level} {}", frame.display_message()));
            }
            Err(DecodeError::UnexpectedEof) => return messages,
            Err(DecodeError::Malformed) => panic!("after {messages:?}: no message"),
        }
    }
}

#[test]
#[ignore = "needs QEMU and the board's image: tests/run board"]
fn the_board_logs_what_it_does() {
    let image = board::image(None).expect("an image");
    let folder = tempfile::tempdir().expect("a folder");
    let log = folder.path().join("log");
    let (mut board, greeting) = Board::start_logging(&image, &log).expect("a board");
    let Ok(Answer::Ready(state)) = board.order(&Order::Set(config(3))) else { panic!("refused") };
    let tally = board::fuzz(&mut board, 3, 500).expect("alike");
    drop(board);
    let messages = messages(&fs::read(&image).expect("an image"), &fs::read(&log).expect("a log"));
    let set = format!("info set, state {state:08x}");
    let wanted = [
        format!("info start {}, pins were {:#x}", greeting.starts, greeting.found),
        set.clone(),
        set,
        format!("info 500 steps, digest {:08x}", tally.digest),
    ];
    assert_eq!(messages, wanted);
    println!("{}", messages.join("\n"));
}
