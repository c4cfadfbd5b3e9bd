//! Prints the number of the hosted build, which the bare one must equal.
fn main() {
    println!("{:016x}", counterpoise_no_std_proof::all_bits());
}
