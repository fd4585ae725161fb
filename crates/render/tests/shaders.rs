//! Every shader is sound, without any adapter.

use naga::valid::{Capabilities, ValidationFlags, Validator};

#[test]
fn every_shader_is_valid() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../shaders");
    let common = std::fs::read_to_string(format!("{folder}/common.wgsl")).unwrap();
    let mut checked = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        assert_eq!(path.extension().and_then(|it| it.to_str()), Some("wgsl"), "{path:?}");
        let own = std::fs::read_to_string(&path).unwrap();
        let source = if path.ends_with("common.wgsl") { own } else { format!("{common}{own}") };
        let name = path.display().to_string();
        let module = naga::front::wgsl::parse_str(&source)
            .unwrap_or_else(|error| panic!("{}", error.emit_to_string_with_path(&source, &name)));
        let valid = Validator::new(ValidationFlags::all(), Capabilities::empty()).validate(&module);
        valid.unwrap_or_else(|error| panic!("{}", error.emit_to_string_with_path(&source, &name)));
        let is_pass = module.entry_points.iter().any(|it| it.stage == naga::ShaderStage::Vertex);
        assert_eq!(is_pass, !path.ends_with("common.wgsl"), "{name}: a pass a file");
        checked += 1;
    }
    assert!(checked > 5);
}
