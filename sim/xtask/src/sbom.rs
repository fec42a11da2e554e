//! Bills of materials: one CycloneDX 1.5 file for each program of the release, the same at every
//! run.

use crate::crates::{self, Built, Crates, key};
use crate::files::made;
use crate::release::Release;
use crate::sums::digest;
use anyhow::{Context, Result, bail};
use cargo_metadata::{Package, PackageId};
use cyclonedx_bom::models::component::{Classification, Scope};
use cyclonedx_bom::models::dependency::{Dependencies, Dependency};
use cyclonedx_bom::models::external_reference::{
    ExternalReference, ExternalReferenceType, ExternalReferences, Uri as Address,
};
use cyclonedx_bom::models::hash::{Hash, HashAlgorithm, HashValue, Hashes};
use cyclonedx_bom::models::license::{LicenseChoice, Licenses};
use cyclonedx_bom::models::tool::{Tool, Tools};
use cyclonedx_bom::prelude::*;
use std::collections::BTreeSet;
use std::fs;
use time::OffsetDateTime;
use time::format_description::well_known::Rfc3339;

/// Writes `sbom/NAME.cdx.json` for each program.
///
/// # Errors
/// When cargo cannot list the crates, or a bill does not satisfy its own standard.
pub fn make(release: &Release) -> Result<()> {
    let folder = release.folder().join("sbom");
    made(&folder)?;
    for built in crates::in_release(release) {
        let bill = bill(release, built, &crates::of(release, built)?)?;
        if !bill.validate_version(SpecVersion::V1_5).passed() {
            bail!("sbom: the bill of {} is not valid CycloneDX 1.5", built.name);
        }
        let mut bytes = Vec::new();
        bill.output_as_json_v1_5(&mut bytes)?;
        bytes.push(b'\n');
        fs::write(folder.join(format!("{}.cdx.json", built.name)), bytes)?;
    }
    Ok(())
}

fn bill(release: &Release, built: &Built, crates: &Crates) -> Result<Bom> {
    let root = &crates.packages[&crates.root];
    let kind = if built.firmware { Classification::Firmware } else { Classification::Application };
    let others = crates.packages.values().filter(|package| package.id != crates.root);
    let components: Vec<Component> = others
        .map(|package| component(package, Classification::Library, crates))
        .collect::<Result<_>>()?;
    let metadata = Metadata {
        timestamp: Some(time_of(release.epoch_s)?.try_into().context("the commit's time")?),
        tools: Some(Tools::List(vec![Tool::new("Chirrup", "xtask", env!("CARGO_PKG_VERSION"))])),
        component: Some(component(root, kind, crates)?),
        ..Metadata::default()
    };
    Ok(Bom {
        serial_number: Some(serial(release, built, crates)?),
        metadata: Some(metadata),
        components: Some(Components(components)),
        dependencies: Some(Dependencies(dependencies(crates))),
        spec_version: SpecVersion::V1_5,
        ..Bom::default()
    })
}

/// How a bill refers to a crate: the address of a package, without the folders of this machine.
fn reference(package: &Package) -> Result<String> {
    let (name, version) = key(package);
    let purl = Purl::new("cargo", &name, &version);
    Ok(purl.with_context(|| format!("{name} {version} has no package address"))?.to_string())
}

fn component(package: &Package, kind: Classification, crates: &Crates) -> Result<Component> {
    let (name, version) = key(package);
    let reference = reference(package)?;
    let mut component = Component::new(kind, &name, &version, Some(reference.clone()));
    component.purl = reference.parse().ok();
    component.scope = Some(Scope::Required);
    component.description = package.description.as_deref().map(NormalizedString::new);
    component.licenses = package.license.as_deref().map(licences);
    component.hashes = crates.checksums.get(&key(package)).map(|sum| {
        let content = HashValue(sum.clone());
        Hashes(vec![Hash { alg: HashAlgorithm::SHA_256, content }])
    });
    component.external_references = package.repository.as_deref().map(|address| {
        let address = Address::Url(Uri::new(address));
        ExternalReferences(vec![ExternalReference::new(ExternalReferenceType::Vcs, address)])
    });
    Ok(component)
}

/// The licence of a manifest: an old one separates choices by a slash.
fn licences(manifest: &str) -> Licenses {
    let expression = manifest.split('/').map(str::trim).collect::<Vec<_>>().join(" OR ");
    Licenses(vec![LicenseChoice::expression(&expression)])
}

fn dependencies(crates: &Crates) -> Vec<Dependency> {
    let name = |id: &PackageId| crates.packages.get(id).and_then(|found| reference(found).ok());
    let of_one = |(id, needs): (&PackageId, &BTreeSet<PackageId>)| {
        let dependencies = needs.iter().filter_map(name).collect();
        Some(Dependency { dependency_ref: name(id)?, dependencies })
    };
    crates.needs.iter().filter_map(of_one).collect()
}

/// A number of its own for each bill that is the same at every run: by what is in it.
fn serial(release: &Release, built: &Built, crates: &Crates) -> Result<UrnUuid> {
    let mut all = format!("{} {}\n", release.name(), built.name);
    for package in crates.packages.values() {
        let (name, version) = key(package);
        all += &format!("{name} {version}\n");
    }
    let hex = digest(all.as_bytes());
    // RFC 9562: version 8, an identifier of one's own making; variant 10.
    let text = format!(
        "urn:uuid:{}-{}-8{}-a{}-{}",
        &hex[..8],
        &hex[8..12],
        &hex[13..16],
        &hex[17..20],
        &hex[20..32]
    );
    UrnUuid::new(text).map_err(|_| anyhow::anyhow!("sbom: no serial number"))
}

/// Seconds since 1970 as RFC 3339 has them.
fn time_of(epoch_s: u64) -> Result<String> {
    let time = OffsetDateTime::from_unix_timestamp(epoch_s.try_into()?)?;
    Ok(time.format(&Rfc3339)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_those_of_gnu_date() {
        // date -u -d @N +%FT%TZ
        for (epoch_s, time) in [
            (0, "1970-01-01T00:00:00Z"),
            (951_782_399, "2000-02-28T23:59:59Z"),
            (951_782_400, "2000-02-29T00:00:00Z"),
            (1_795_000_000, "2026-11-18T11:06:40Z"),
            (4_107_542_400, "2100-03-01T00:00:00Z"),
        ] {
            assert_eq!(time_of(epoch_s).unwrap(), time);
        }
    }

    #[test]
    fn a_slash_between_licences_is_a_choice() {
        assert_eq!(licences("MIT/Apache-2.0"), licences("MIT OR Apache-2.0"));
    }
}
