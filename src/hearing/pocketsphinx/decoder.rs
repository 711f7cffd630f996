//! The C decoder behind safe calls. The only `unsafe` code of the project is in this file.
//!
//! A [`Decoder`] holds raw pointers and so is neither `Send` nor `Sync`: it stays on the thread
//! that made it, as the C library asks.

use std::ffi::{CStr, CString, c_char, c_int, c_void};
use std::ptr::NonNull;

use crate::hearing::recognizer::SAMPLE_RATE;

type Config = c_void;
type RawDecoder = c_void;
type RawGrammar = c_void;
type LogMath = c_void;
type RawSegment = c_void;
type RawAlternatives = c_void;

unsafe extern "C" {
    fn ps_config_init(definitions: *const c_void) -> *mut Config;
    fn ps_config_set_str(
        config: *mut Config,
        name: *const c_char,
        value: *const c_char,
    ) -> *const c_void;
    fn ps_config_free(config: *mut Config) -> c_int;
    fn ps_init(config: *mut Config) -> *mut RawDecoder;
    fn ps_free(decoder: *mut RawDecoder) -> c_int;
    fn ps_lookup_word(decoder: *mut RawDecoder, word: *const c_char) -> *mut c_char;
    fn ps_add_word(
        decoder: *mut RawDecoder,
        word: *const c_char,
        phones: *const c_char,
        update: c_int,
    ) -> c_int;
    fn ps_get_logmath(decoder: *mut RawDecoder) -> *mut LogMath;
    fn fsg_model_read(file: *mut c_void, logmath: *mut LogMath, weight: f32) -> *mut RawGrammar;
    fn fsg_model_free(grammar: *mut RawGrammar) -> c_int;
    fn ps_add_fsg(decoder: *mut RawDecoder, name: *const c_char, grammar: *mut RawGrammar)
    -> c_int;
    fn fmemopen(memory: *mut c_void, size: usize, mode: *const c_char) -> *mut c_void;
    fn fclose(file: *mut c_void) -> c_int;
    fn ps_activate_search(decoder: *mut RawDecoder, name: *const c_char) -> c_int;
    fn ps_remove_search(decoder: *mut RawDecoder, name: *const c_char) -> c_int;
    fn ps_reinit_feat(decoder: *mut RawDecoder, config: *mut Config) -> c_int;
    fn ps_start_utt(decoder: *mut RawDecoder) -> c_int;
    fn ps_process_raw(
        decoder: *mut RawDecoder,
        samples: *const i16,
        count: usize,
        no_search: c_int,
        full_utterance: c_int,
    ) -> c_int;
    fn ps_end_utt(decoder: *mut RawDecoder) -> c_int;
    fn readback_keep_scores(decoder: *mut RawDecoder, file: *mut c_void) -> c_int;
    fn readback_search_scores(decoder: *mut RawDecoder, file: *mut c_void) -> c_int;
    fn open_memstream(memory: *mut *mut c_char, size: *mut usize) -> *mut c_void;
    fn ps_get_hyp(decoder: *mut RawDecoder, score: *mut i32) -> *const c_char;
    fn ps_seg_iter(decoder: *mut RawDecoder) -> *mut RawSegment;
    fn ps_seg_next(segment: *mut RawSegment) -> *mut RawSegment;
    fn ps_seg_word(segment: *mut RawSegment) -> *const c_char;
    fn ps_seg_frames(segment: *mut RawSegment, first: *mut c_int, last: *mut c_int);
    fn ps_seg_prob(
        segment: *mut RawSegment,
        acoustic: *mut i32,
        language: *mut i32,
        backoff: *mut i32,
    ) -> i32;
    fn ps_nbest(decoder: *mut RawDecoder) -> *mut RawAlternatives;
    fn ps_nbest_next(alternatives: *mut RawAlternatives) -> *mut RawAlternatives;
    fn ps_nbest_hyp(alternatives: *mut RawAlternatives, score: *mut i32) -> *const c_char;
    fn ps_nbest_seg(alternatives: *mut RawAlternatives) -> *mut RawSegment;
    fn ps_nbest_free(alternatives: *mut RawAlternatives);
    fn free(memory: *mut c_void);
}

/// How much the grammar's probabilities count against the sound: the library's own default.
const LANGUAGE_WEIGHT: f32 = 6.5;

/// Longer utterances are scored anew rather than kept: a second takes 1 MB.
const LONGEST_KEPT: usize = 5 * SAMPLE_RATE as usize;

/// One word or filler of a decoded utterance, in frames of 10 ms from its start, ends included.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Segment {
    pub word: String,
    pub first_frame: u32,
    pub last_frame: u32,
    /// Acoustic log score over all its frames, in the decoder's units; larger is better.
    pub acoustic: i32,
}

/// One way the utterance may have gone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Path {
    pub score: i32,
    pub segments: Vec<Segment>,
}

/// A loaded acoustic model and dictionary with the grammars added to them.
pub struct Decoder {
    raw: NonNull<RawDecoder>,
    config: NonNull<Config>,
    /// Of the utterance just decoded.
    scores: Option<Scores>,
}

/// How well the sounds of an utterance fit those of speech, as the library wrote them down.
struct Scores {
    memory: *mut c_char,
    size: usize,
}

impl Decoder {
    /// Loads a model with the given settings; `None` when the library refuses them or a file of
    /// the model is missing or broken.
    pub fn open(settings: &[(&str, &str)]) -> Option<Decoder> {
        // SAFETY: a null definition list asks for the library's own defaults.
        let config = NonNull::new(unsafe { ps_config_init(std::ptr::null()) })?;
        if !set_all(config, settings) {
            // SAFETY: the configuration was made above and nothing else holds it.
            unsafe { ps_config_free(config.as_ptr()) };
            return None;
        }
        // SAFETY: the configuration is live; the decoder keeps its own reference to it.
        match NonNull::new(unsafe { ps_init(config.as_ptr()) }) {
            Some(raw) => Some(Decoder {
                raw,
                config,
                scores: None,
            }),
            None => {
                // SAFETY: as above; a decoder that failed holds no reference.
                unsafe { ps_config_free(config.as_ptr()) };
                None
            }
        }
    }

    /// Whether the dictionary has the word.
    pub fn knows(&self, word: &str) -> bool {
        self.phones(word).is_some()
    }

    /// How a word is pronounced. A second way is that of the word `either(2)`.
    pub fn phones(&self, word: &str) -> Option<String> {
        let word = CString::new(word).ok()?;
        // SAFETY: both pointers are live; the returned text is copied, and ours to free with C's
        // `free`.
        unsafe {
            let phones = ps_lookup_word(self.raw.as_ptr(), word.as_ptr());
            if phones.is_null() {
                return None;
            }
            let copied = CStr::from_ptr(phones).to_string_lossy().into_owned();
            free(phones.cast());
            Some(copied)
        }
    }

    /// Every way to pronounce a word.
    pub fn pronunciations(&self, word: &str) -> Vec<String> {
        let others = (2..).map(|number| self.phones(&format!("{word}({number})")));
        let all = std::iter::once(self.phones(word)).chain(others);
        all.map_while(|phones| phones).collect()
    }

    /// Adds a pronunciation; `false` when a phone is not the model's or the word is already there.
    pub fn add_word(&mut self, word: &str, phones: &str) -> bool {
        let (Ok(word), Ok(phones)) = (CString::new(word), CString::new(phones)) else {
            return false;
        };
        // SAFETY: all pointers are live for the call; the library copies both texts.
        unsafe { ps_add_word(self.raw.as_ptr(), word.as_ptr(), phones.as_ptr(), 0) >= 0 }
    }

    /// Compiles a finite state grammar in the FSG format under a name; `false` when it is not one
    /// or a word is unknown.
    pub fn add_grammar(&mut self, name: &str, text: &str) -> bool {
        let (Ok(name), Ok(text)) = (CString::new(name), CString::new(text)) else {
            return false;
        };
        let mut memory = text.into_bytes();
        // SAFETY: the stream reads `memory`, which outlives it, and is closed before returning;
        // the decoder keeps its own reference to the grammar.
        unsafe {
            let file = fmemopen(memory.as_mut_ptr().cast(), memory.len(), c"r".as_ptr());
            if file.is_null() {
                return false;
            }
            let logmath = ps_get_logmath(self.raw.as_ptr());
            let grammar = fsg_model_read(file, logmath, LANGUAGE_WEIGHT);
            fclose(file);
            if grammar.is_null() {
                return false;
            }
            let added = ps_add_fsg(self.raw.as_ptr(), name.as_ptr(), grammar) == 0;
            fsg_model_free(grammar);
            added
        }
    }

    /// Makes a grammar the one the next utterance is decoded with.
    pub fn activate(&mut self, name: &str) -> bool {
        let Ok(name) = CString::new(name) else {
            return false;
        };
        // SAFETY: both pointers are live; no utterance is open between calls of `decode`.
        unsafe { ps_activate_search(self.raw.as_ptr(), name.as_ptr()) == 0 }
    }

    /// Forgets a grammar that is not the active one.
    pub fn remove_grammar(&mut self, name: &str) {
        if let Ok(name) = CString::new(name) {
            // SAFETY: both pointers are live; an unknown name is refused by the library.
            unsafe { ps_remove_search(self.raw.as_ptr(), name.as_ptr()) };
        }
    }

    /// Decodes one whole utterance with the active grammar. `Ok(None)`: nothing was heard.
    pub fn decode(&mut self, samples: &[i16]) -> Result<Option<Path>, &'static str> {
        self.decode_keeping(samples, samples.len() <= LONGEST_KEPT)
    }

    /// The same, where [`Decoder::decode_again`] will not follow.
    pub fn decode_once(&mut self, samples: &[i16]) -> Result<Option<Path>, &'static str> {
        self.decode_keeping(samples, false)
    }

    fn decode_keeping(
        &mut self,
        samples: &[i16],
        keep: bool,
    ) -> Result<Option<Path>, &'static str> {
        let raw = self.raw.as_ptr();
        let (mut memory, mut size) = (std::ptr::null_mut(), 0);
        // SAFETY: the decoder is live, the slice outlives the call, and every started utterance
        // is ended before returning. The stream writes where its memory is and its size into the two
        // variables until it is closed, before returning.
        let decoded = unsafe {
            // The estimate of the noise would otherwise carry over from what was heard before.
            if ps_reinit_feat(raw, std::ptr::null_mut()) < 0 || ps_start_utt(raw) < 0 {
                return Err("an utterance could not be started");
            }
            if keep {
                let file = open_memstream(&raw mut memory, &raw mut size);
                readback_keep_scores(raw, file);
            }
            let searched = ps_process_raw(raw, samples.as_ptr(), samples.len(), 0, 1);
            let ended = ps_end_utt(raw);
            readback_keep_scores(raw, std::ptr::null_mut());
            searched >= 0 && ended >= 0
        };
        self.scores = (!memory.is_null()).then_some(Scores { memory, size });
        match decoded {
            true => Ok(self.best()),
            false => Err("the samples could not be decoded"),
        }
    }

    /// Decodes the utterance just decoded once more, with the grammar that is active now: as
    /// [`Decoder::decode`] would, in a fraction of the time.
    pub fn decode_again(&mut self, samples: &[i16]) -> Result<Option<Path>, &'static str> {
        let Some(scores) = self.scores.take() else {
            return self.decode(samples);
        };
        // SAFETY: the decoder is live; the stream reads the memory of `scores`, which outlives it,
        // and is closed before returning, when the decoder no longer refers to it.
        let searched = unsafe {
            let file = fmemopen(scores.memory.cast(), scores.size, c"r".as_ptr());
            if file.is_null() {
                return Err("its scores could not be read");
            }
            let searched = readback_search_scores(self.raw.as_ptr(), file);
            fclose(file);
            searched
        };
        match searched {
            0.. => Ok(self.best()),
            _ => Err("its scores could not be searched"),
        }
    }

    /// What the utterance just decoded is most likely to be.
    fn best(&mut self) -> Option<Path> {
        let mut score = 0;
        // SAFETY: the decoder is live and the segments are walked before it is used again.
        unsafe {
            if ps_get_hyp(self.raw.as_ptr(), &mut score).is_null() {
                return None;
            }
            let segments = segments(ps_seg_iter(self.raw.as_ptr()));
            Some(Path { score, segments })
        }
    }

    /// Further ways the utterance just decoded may have gone, best first, at most `most`. Paths
    /// that differ only in fillers and times come as often as the lattice has them.
    pub fn alternatives(&mut self, most: usize) -> Vec<Path> {
        let mut paths = Vec::new();
        // SAFETY: the iterator is used only until `ps_nbest_next` returns null, which frees it, or
        // until it is freed here.
        unsafe {
            let mut next = ps_nbest(self.raw.as_ptr());
            while !next.is_null() && paths.len() < most {
                let mut score = 0;
                if !ps_nbest_hyp(next, &mut score).is_null() {
                    let segments = segments(ps_nbest_seg(next));
                    paths.push(Path { score, segments });
                }
                next = ps_nbest_next(next);
            }
            if !next.is_null() {
                ps_nbest_free(next);
            }
        }
        paths
    }
}

impl Drop for Decoder {
    fn drop(&mut self) {
        // SAFETY: both were made by `open` and are freed once, the decoder before what it refers to.
        unsafe {
            ps_free(self.raw.as_ptr());
            ps_config_free(self.config.as_ptr());
        }
    }
}

impl Drop for Scores {
    fn drop(&mut self) {
        // SAFETY: the stream that allocated it is closed, and C's `free` is the way to give it back.
        unsafe { free(self.memory.cast()) }
    }
}

fn set_all(config: NonNull<Config>, settings: &[(&str, &str)]) -> bool {
    settings.iter().all(|(name, value)| {
        let (Ok(name), Ok(value)) = (CString::new(*name), CString::new(*value)) else {
            return false;
        };
        // SAFETY: all pointers are live for the call; the library copies the value and returns
        // null for a name it does not have.
        let set = unsafe { ps_config_set_str(config.as_ptr(), name.as_ptr(), value.as_ptr()) };
        !set.is_null()
    })
}

/// Walks a segment iterator to its end, which frees it.
///
/// # Safety
///
/// `next` is null or a live iterator that nothing else uses.
unsafe fn segments(mut next: *mut RawSegment) -> Vec<Segment> {
    let mut found = Vec::new();
    while !next.is_null() {
        let (mut first, mut last, mut acoustic, mut language, mut backoff) = (0, 0, 0, 0, 0);
        // SAFETY: `next` is live by the loop's condition; the word is copied before it moves on.
        unsafe {
            ps_seg_frames(next, &mut first, &mut last);
            ps_seg_prob(next, &mut acoustic, &mut language, &mut backoff);
            let word = ps_seg_word(next);
            if !word.is_null() {
                found.push(Segment {
                    word: CStr::from_ptr(word).to_string_lossy().into_owned(),
                    first_frame: u32::try_from(first).unwrap_or(0),
                    last_frame: u32::try_from(last).unwrap_or(0),
                    acoustic,
                });
            }
            next = ps_seg_next(next);
        }
    }
    found
}
