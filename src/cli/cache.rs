//! Facts of meshes kept between runs, in the user's cache folder: measuring an unchanged mesh again costs its reading.
//!
//! An entry is found by a digest of everything its content hangs on (the bytes of the mesh, what was asked, this
//! program's version and the very text of its geometry), so that a stale one cannot be found. It carries its own key and
//! checksum: what is damaged, cut short or not ours is passed over and written anew. Nothing here can fail a run: where
//! the folder cannot be read or written, the facts are worked out as without it.

use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, SystemTime};

/// A digest of all that an entry hangs on.
pub type Key = [u8; 32];

/// First bytes of every entry; the number changes with the form of the entry itself.
const MAGIC: &[u8; 16] = b"makeready facts1";
const HEAD: usize = MAGIC.len() + 32 + 32 + 8;
/// Entries larger than this are not kept, bytes.
const LARGEST: u64 = 64 << 20;
/// All entries together, bytes; beyond it the ones longest unused go.
const ROOM: u64 = 256 << 20;
/// Entries put by one process between two looks at how many there are.
const BETWEEN_LOOKS: usize = 64;
/// What a run that was cut off may have left half written goes after this long.
const ABANDONED: Duration = Duration::from_secs(3600);
/// More files than this in the folder are not looked at in one go.
const MOST_FILES: usize = 100_000;
/// Digest of the geometry's source and of what makes a part's facts from it, by the build.
const GEOMETRY: &str = env!("MAKEREADY_GEOMETRY");

/// A folder of entries.
#[derive(Debug, Clone)]
pub struct Cache {
    folder: PathBuf,
    room: u64,
    /// What tells this build from another: facts of another version are never found.
    version: String,
    /// How many entries this process has put here.
    kept: Arc<AtomicUsize>,
}

impl Cache {
    /// Returns a cache in this folder; it is made when something is first written.
    pub fn at(folder: impl Into<PathBuf>) -> Self {
        let version =
            format!("{} {GEOMETRY} {} {}", env!("CARGO_PKG_VERSION"), std::env::consts::ARCH, std::env::consts::OS);
        Self { folder: folder.into(), room: ROOM, version, kept: Arc::default() }
    }

    /// Returns the user's cache, where it is not switched off and has a place: `MAKEREADY_CACHE` (a folder, or `off`),
    /// else `makeready` in the cache folder of this kind of machine.
    pub(super) fn of_the_user(switched_off: bool) -> Option<Self> {
        if switched_off {
            return None;
        }
        users_folder(|name| std::env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from)).map(Self::at)
    }

    /// Returns the key of what hangs on these parts, in this order, and on this version of the program.
    pub fn key(&self, kind: &str, parts: &[&[u8]]) -> Key {
        let mut hasher = blake3::Hasher::new();
        for part in [self.version.as_bytes(), kind.as_bytes()].iter().chain(parts) {
            // Lengths first: no two lists of parts run together to the same bytes.
            hasher.update(&(part.len() as u64).to_le_bytes());
            hasher.update(part);
        }
        *hasher.finalize().as_bytes()
    }

    /// Returns the content kept under a key; `None` where there is none, or none that is whole.
    pub fn get(&self, key: &Key) -> Option<Vec<u8>> {
        let path = self.path(key);
        let file = File::open(&path).ok()?;
        let length = file.metadata().ok().filter(fs::Metadata::is_file)?.len();
        if length < HEAD as u64 || length > HEAD as u64 + LARGEST {
            return None;
        }
        let mut bytes = Vec::with_capacity(length as usize);
        file.take(HEAD as u64 + LARGEST).read_to_end(&mut bytes).ok()?;
        let content = opened(key, &bytes)?.to_vec();
        // The oldest go first, so being used makes it young; where the time cannot be set it is only forgotten sooner.
        let _ = File::options().append(true).open(&path).and_then(|f| f.set_modified(SystemTime::now()));
        Some(content)
    }

    /// Keeps content under a key, whole or not at all; a failure is not worth a word.
    pub fn put(&self, key: &Key, content: &[u8]) {
        if content.len() as u64 <= LARGEST && self.write(key, content).is_ok() && self.is_time_to_look() {
            self.make_room();
        }
    }

    /// Returns whether the folder is to be looked over after this entry: at a process's first and at every so many, since a
    /// look at each of thousands of entries for each of thousands costs more than the measuring.
    fn is_time_to_look(&self) -> bool {
        self.kept.fetch_add(1, Ordering::Relaxed).is_multiple_of(BETWEEN_LOOKS)
    }

    fn write(&self, key: &Key, content: &[u8]) -> std::io::Result<()> {
        fs::create_dir_all(&self.folder)?;
        // Under a name of its own first, then renamed: another run sees the old entry or the new one, never a part.
        let mut file = tempfile::Builder::new().prefix("new-").tempfile_in(&self.folder)?;
        file.write_all(&head(key, content))?;
        file.write_all(content)?;
        file.persist(self.path(key)).map_err(|e| e.error)?;
        Ok(())
    }

    fn path(&self, key: &Key) -> PathBuf {
        self.folder.join(format!("{}.facts", blake3::Hash::from(*key).to_hex()))
    }

    /// Takes out the entries longest unused until the rest has room, and what a run that was cut off left behind.
    fn make_room(&self) {
        let Ok(files) = fs::read_dir(&self.folder) else { return };
        let now = SystemTime::now();
        let mut entries: Vec<(SystemTime, PathBuf, u64)> = Vec::new();
        for file in files.flatten().take(MOST_FILES) {
            let (path, Ok(about)) = (file.path(), file.metadata()) else { continue };
            let age = about.modified().unwrap_or(SystemTime::UNIX_EPOCH);
            let named = |end: bool| end && about.is_file();
            let name = file.file_name().to_string_lossy().into_owned();
            if named(name.ends_with(".facts")) {
                entries.push((age, path, about.len()));
            } else if named(name.starts_with("new-")) && now.duration_since(age).is_ok_and(|d| d > ABANDONED) {
                let _ = fs::remove_file(path);
            }
        }
        let mut total: u64 = entries.iter().map(|e| e.2).sum();
        if total <= self.room {
            return;
        }
        entries.sort();
        for (_, path, size) in entries {
            // Down to three quarters, so that not every further entry starts this over.
            if total <= self.room / 4 * 3 {
                break;
            }
            // Another run may have taken it out already; either way it is gone.
            let _ = fs::remove_file(path);
            total = total.saturating_sub(size);
        }
    }
}

fn head(key: &Key, content: &[u8]) -> Vec<u8> {
    let mut head = MAGIC.to_vec();
    head.extend_from_slice(key);
    head.extend_from_slice(checksum(key, content).as_bytes());
    head.extend_from_slice(&(content.len() as u64).to_le_bytes());
    head
}

/// Returns the content of an entry that is whole and was made for this key.
fn opened<'b>(key: &Key, bytes: &'b [u8]) -> Option<&'b [u8]> {
    let content = bytes.get(HEAD..)?;
    (bytes.get(..HEAD)? == head(key, content).as_slice()).then_some(content)
}

fn checksum(key: &Key, content: &[u8]) -> blake3::Hash {
    let mut hasher = blake3::Hasher::new_keyed(key);
    hasher.update(content);
    hasher.finalize()
}

/// Returns the folder by what the environment says.
fn users_folder(variable: impl Fn(&str) -> Option<PathBuf>) -> Option<PathBuf> {
    match variable("MAKEREADY_CACHE") {
        Some(word) if word == Path::new("off") => return None,
        Some(folder) => return Some(folder),
        None => {}
    }
    // A relative folder there is to be ignored (XDG Base Directory Specification).
    let absolute = |name: &str| variable(name).filter(|p| p.is_absolute());
    let usual = || {
        if cfg!(windows) {
            absolute("LOCALAPPDATA")
        } else if cfg!(target_os = "macos") {
            absolute("HOME").map(|home| home.join("Library/Caches"))
        } else {
            absolute("HOME").map(|home| home.join(".cache"))
        }
    };
    absolute("XDG_CACHE_HOME").or_else(usual).map(|folder| folder.join("makeready"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cache() -> (tempfile::TempDir, Cache) {
        let home = tempfile::tempdir().unwrap();
        let cache = Cache::at(home.path().join("not/yet/there"));
        (home, cache)
    }

    fn only_entry(cache: &Cache) -> PathBuf {
        let mut found: Vec<PathBuf> = fs::read_dir(&cache.folder).unwrap().map(|e| e.unwrap().path()).collect();
        assert_eq!(found.len(), 1, "{found:?}");
        found.remove(0)
    }

    #[test]
    fn what_was_put_comes_back() {
        let (_home, cache) = cache();
        let key = cache.key("test", &[b"mesh", b"asked"]);
        assert_eq!(cache.get(&key), None);
        cache.put(&key, b"facts");
        assert_eq!(cache.get(&key).unwrap(), b"facts");
        cache.put(&key, b"");
        assert_eq!(cache.get(&key).unwrap(), b"");
    }

    #[test]
    fn every_damage_is_seen_and_mended() {
        let (_home, cache) = cache();
        let key = cache.key("test", &[b"mesh"]);
        cache.put(&key, b"facts of a mesh");
        let path = only_entry(&cache);
        let whole = fs::read(&path).unwrap();
        for at in 0..whole.len() {
            let mut damaged = whole.clone();
            damaged[at] ^= 0x10;
            fs::write(&path, &damaged).unwrap();
            assert_eq!(cache.get(&key), None, "byte {at}");
            fs::write(&path, &whole[..at]).unwrap();
            assert_eq!(cache.get(&key), None, "cut at {at}");
        }
        fs::write(&path, [&whole[..], b"x"].concat()).unwrap();
        assert_eq!(cache.get(&key), None);
        cache.put(&key, b"facts of a mesh");
        assert_eq!(cache.get(&key).unwrap(), b"facts of a mesh");
    }

    #[test]
    fn an_entry_under_another_name_is_not_taken() {
        let (_home, cache) = cache();
        let (one, other) = (cache.key("test", &[b"a"]), cache.key("test", &[b"b"]));
        cache.put(&one, b"facts of a");
        fs::rename(cache.path(&one), cache.path(&other)).unwrap();
        assert_eq!((cache.get(&one), cache.get(&other)), (None, None));
    }

    #[test]
    fn keys_tell_everything_apart() {
        let (_home, cache) = cache();
        let later = Cache { version: "0.1.1".to_owned(), ..cache.clone() };
        let keys = [
            cache.key("test", &[b"ab", b"c"]),
            cache.key("test", &[b"a", b"bc"]),
            cache.key("test", &[b"abc"]),
            cache.key("tes", &[b"t", b"abc"]),
            later.key("test", &[b"abc"]),
        ];
        for (i, a) in keys.iter().enumerate() {
            assert!(keys[i + 1..].iter().all(|b| a != b), "{i}");
        }
    }

    #[test]
    fn the_longest_unused_go_when_there_is_no_room() {
        let (_home, cache) = cache();
        let cache = Cache { room: 10_000, ..cache };
        let keys: Vec<Key> = (0..8_u8).map(|i| cache.key("test", &[&[i]])).collect();
        for (i, key) in keys.iter().enumerate() {
            // Each by a process of its own, which looks the folder over at its first entry.
            Cache { kept: Arc::default(), ..cache.clone() }.put(key, &[0; 2000]);
            let age = SystemTime::now() - Duration::from_secs(1000 - i as u64);
            let file = File::options().append(true).open(cache.path(key));
            file.and_then(|f| f.set_modified(age)).unwrap();
            if i == 3 {
                // Used lately, though made first.
                assert!(cache.get(&keys[0]).is_some());
            }
        }
        let kept: Vec<bool> = keys.iter().map(|k| cache.path(k).exists()).collect();
        let size: u64 = fs::read_dir(&cache.folder).unwrap().map(|e| e.unwrap().metadata().unwrap().len()).sum();
        assert!(size <= 10_000, "{size}");
        assert!(kept[0] && !kept[1] && kept[7], "{kept:?}");
    }

    #[test]
    fn a_folder_that_cannot_be_written_is_no_fault() {
        let home = tempfile::tempdir().unwrap();
        let file = home.path().join("file");
        fs::write(&file, "not a folder").unwrap();
        let cache = Cache::at(&file);
        let key = cache.key("test", &[]);
        cache.put(&key, b"facts");
        assert_eq!(cache.get(&key), None);
        assert_eq!(fs::read(&file).unwrap(), b"not a folder");
    }

    #[test]
    fn many_at_once_are_harmless() {
        let (_home, cache) = cache();
        let key = cache.key("test", &[b"mesh"]);
        std::thread::scope(|scope| {
            for _ in 0..4 {
                scope.spawn(|| {
                    for _ in 0..50 {
                        cache.put(&key, &[7; 5000]);
                        // On some systems a file being replaced cannot be opened for a moment.
                        assert!(cache.get(&key).is_none_or(|found| found == [7; 5000]));
                    }
                });
            }
        });
        only_entry(&cache);
    }

    #[test]
    fn the_environment_says_where() {
        let home = if cfg!(windows) { "C:\\home" } else { "/home/hut" };
        let with = |pairs: &[(&str, &str)]| {
            users_folder(|name| pairs.iter().find(|p| p.0 == name).map(|p| PathBuf::from(p.1)))
        };
        assert_eq!(with(&[]), None);
        assert_eq!(with(&[("MAKEREADY_CACHE", "off"), ("XDG_CACHE_HOME", home)]), None);
        assert_eq!(with(&[("MAKEREADY_CACHE", "kept")]), Some(PathBuf::from("kept")));
        assert_eq!(with(&[("XDG_CACHE_HOME", home)]), Some(Path::new(home).join("makeready")));
        assert_eq!(with(&[("XDG_CACHE_HOME", "relative")]), None);
        if cfg!(target_os = "linux") {
            assert_eq!(with(&[("HOME", home)]), Some(Path::new(home).join(".cache/makeready")));
        }
    }
}
