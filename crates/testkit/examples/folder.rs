fn main() {
    let a: Vec<String> = std::env::args().collect();
    let n: usize = a[1].parse().unwrap();
    let r = testkit::Recipe::bed(n, a[2].parse().unwrap(), if a[3] == "scarce" { testkit::Sections::Scarce } else { testkit::Sections::Ample }, a[4].parse().unwrap());
    let s = testkit::invent(&r);
    std::fs::create_dir_all(&a[5]).unwrap();
    for (f, t) in testkit::write_folder(&s) { std::fs::write(format!("{}/{}", a[5], f), t).unwrap(); }
}
