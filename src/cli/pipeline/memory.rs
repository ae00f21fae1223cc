//! Meshes read and measured: what a run keeps of them, and what it asks the cache.

use std::sync::Arc;

use super::super::cache::{Cache, Key};
use super::super::digest::short;
use super::super::meshes;
use super::super::meshes::Read;
use super::super::shared::Shared;
use super::super::world::World;
use super::Job;
use crate::diag::Diagnostic;
use crate::recipe::Input;
use crate::resolve::part;
use crate::semantics::spec::MeshUse;

/// Facets of all meshes kept in memory together: some hundred megabytes with what is known of them.
pub(super) const ROOM_FACETS: usize = 1_000_000;

/// Meshes as read, by the digest of their bytes and of what the statement says of them.
pub(super) static MESHES: Shared<Key, Read> = Shared::new(ROOM_FACETS);

/// Facts of meshes by the mesh's digest and the question: a thousand specs beside one mesh measure it once.
pub(super) static FACTS: Shared<(Key, String), part::Facts> = Shared::new(ROOM_FACETS);

/// Bytes of the fields kept in memory.
pub(super) const ROOM_FIELDS: usize = 64 << 20;

/// What loads do to meshes, by a digest of mesh and question.
pub(super) static FIELDS: Shared<Key, Vec<u8>> = Shared::new(ROOM_FIELDS);

/// The facts of one mesh, kept for this run and in the cache.
pub(super) struct OfMesh<'c> {
    pub(super) cache: Option<&'c Cache>,
    pub(super) mesh: Key,
    pub(super) facets: usize,
    pub(super) afresh: bool,
}

impl part::Memory for OfMesh<'_> {
    fn recall(&self, question: &str) -> Option<Arc<part::Facts>> {
        let key = (self.mesh, question.to_owned());
        if let Some(found) = FACTS.get(&key).filter(|_| !self.afresh) {
            return Some(found);
        }
        let cache = self.cache?;
        let bytes = cache.get(&cache.key("part", &[&self.mesh, question.as_bytes()]))?;
        let facts = Arc::new(part::Facts::from_bytes(&bytes)?);
        FACTS.put(key, &facts, self.facets);
        Some(facts)
    }

    fn recall_answer(&self, question: &str) -> Option<Vec<u8>> {
        let key = digest_of(&[b"field", &self.mesh, question.as_bytes()]);
        if let Some(found) = FIELDS.get(&key).filter(|_| !self.afresh) {
            return Some(Vec::clone(&found));
        }
        let cache = self.cache?;
        let found = cache.get(&cache.key("field", &[&self.mesh, question.as_bytes()]))?;
        FIELDS.put(key, &Arc::new(found.clone()), found.len());
        Some(found)
    }

    fn keep_answer(&self, question: &str, answer: &[u8]) {
        FIELDS.put(digest_of(&[b"field", &self.mesh, question.as_bytes()]), &Arc::new(answer.to_vec()), answer.len());
        if let Some(cache) = self.cache {
            cache.put(&cache.key("field", &[&self.mesh, question.as_bytes()]), answer);
        }
    }

    fn keep(&self, question: &str, facts: &Arc<part::Facts>) {
        FACTS.put((self.mesh, question.to_owned()), facts, self.facets);
        if let Some(cache) = self.cache {
            cache.put(&cache.key("part", &[&self.mesh, question.as_bytes()]), &facts.to_bytes());
        }
    }
}

pub(super) fn read_mesh(world: &World, job: &Job, used: &MeshUse) -> Result<(Arc<Read>, Key, Input), Diagnostic> {
    let from = job.file.clone();
    let file = world.named_by(&from, &used.path.value, used.path.span)?;
    let bytes = world.mesh(&file, Some(used.path.span))?;
    // The bytes, and what of the statement decides which mesh they mean. The name's ending tells the format.
    let object = used.object.as_ref().map(|o| o.value.as_str());
    let meant = format!("{:?} {object:?} {:?}", used.unit.map(|u| u.value), file.name.rsplit('.').next());
    let content = blake3::hash(&bytes);
    let key = digest_of(&[meant.as_bytes(), content.as_bytes()]);
    // What is odd about a file may be said by its name, which other files with the same bytes do not have.
    let named = digest_of(&[&key, file.name.as_bytes()]);
    let digest = Input { digest: short(&content), name: file.name.clone() };
    if let Some(read) = MESHES.get(&named) {
        return Ok((read, key, digest));
    }
    let read = Arc::new(meshes::read(&bytes, &file.name, used)?);
    MESHES.put(named, &read, read.mesh.triangles.len());
    Ok((read, key, digest))
}

/// Returns a digest of several texts, of which no two lists run together to the same bytes.
pub(super) fn digest_of(parts: &[&[u8]]) -> Key {
    let mut hasher = blake3::Hasher::new();
    for part in parts {
        hasher.update(&(part.len() as u64).to_le_bytes());
        hasher.update(part);
    }
    *hasher.finalize().as_bytes()
}
