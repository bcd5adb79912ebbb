#![allow(missing_docs, clippy::all, clippy::unwrap_used, clippy::print_stdout)]
use whytrip::knowledge::*; use std::time::Instant;
#[path="../tests/it/generated.rs"] mod generated;
fn main() {
    let mode = std::env::args().nth(1).unwrap();
    let n: usize = std::env::args().nth(2).unwrap().parse().unwrap();
    let mut v = vec![];
    let files = if mode == "gen" { generated::package(n) } else {
      let mut files = InMemory::new();
      for f in std::fs::read_dir("knowledge").unwrap().map(|e| e.unwrap().path()).filter(|p| p.is_dir()) { for x in std::fs::read_dir(&f).unwrap().map(|e| e.unwrap().path()) { files.add(f.file_name().unwrap().to_str().unwrap(), x.file_name().unwrap().to_str().unwrap(), std::fs::read(&x).unwrap()); } } files };
    for _ in 0..(if mode == "gen" {3} else {n}) {
        let t = Instant::now();
        match mode.as_str() { "emb" => { load_embedded("kitchen-ventilation"); }, "load" => { load(&files, "kitchen-ventilation", &Options::default()); }, _ => { load(&files, "plant", &Options::default()); } }
        v.push(t.elapsed().as_secs_f64()*1e3);
    }
    v.sort_by(f64::total_cmp); println!("{mode} {n}: min {:.2} median {:.2} ms", v[0], v[v.len()/2]);
}
