use std::io::Read;
fn main() {
    let kind = std::env::args().nth(1).unwrap();
    let mut t = String::new();
    std::io::stdin().read_to_string(&mut t).unwrap();
    let v: serde_json::Value = if t.trim().is_empty() {
        calculations::kind(&kind).unwrap().example()
    } else {
        serde_json::from_str(&t).unwrap()
    };
    match calculations::calculate(&kind, &v) {
        Ok(r) => {
            let mut o = serde_json::to_value(&r).unwrap();
            if let Some(d) = r.drawing.as_ref() {
                std::fs::write("/tmp/f-out.svg", d).unwrap();
            }
            o.as_object_mut().unwrap().remove("drawing");
            let lines = o.as_object_mut().unwrap().remove("lines").unwrap();
            println!("{}", serde_json::to_string_pretty(&o).unwrap());
            for l in r.lines {
                println!(
                    "{:60} | {} | = {} {} | {:?} {:?} | {:?}",
                    l.meaning, l.substituted, l.value.value, l.value.unit, l.limit, l.verdict, l.source
                );
            }
            let _ = lines;
            let n = 2000;
            let t0 = std::time::Instant::now();
            for _ in 0..n {
                std::hint::black_box(calculations::calculate(&kind, &v).unwrap());
            }
            println!("{:?} each", t0.elapsed() / n);
        }
        Err(e) => println!("ERR {e}"),
    }
}
