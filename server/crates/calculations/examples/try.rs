fn main() {
    let a: Vec<String> = std::env::args().collect();
    let n: u32 = a[1].parse().unwrap();
    for f in &a[2..] {
        let (kind, path) = f.split_once('=').unwrap_or((f, ""));
        let v: serde_json::Value = if path.is_empty() {
            calculations::kind(kind).unwrap().example()
        } else {
            serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
        };
        for _ in 0..n {
            std::hint::black_box(calculations::calculate(kind, &v).unwrap());
        }
    }
}
