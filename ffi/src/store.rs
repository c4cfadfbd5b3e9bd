//! Coefficients kept from job to job, as JSON text, and what they say of another machine of the kind.

use alloc::vec::Vec;
use core::ffi::c_char;

use counterpoise::job::{StoredCoefficients, pooled_prior};
use counterpoise::json;

use crate::argument::{handle, output, results, text, write_text};
use crate::detail::cpoise_detail;
use crate::influence::{cpoise_influence_matrix, cpoise_prior};
use crate::record::nth;
use crate::status::cpoise_status;

/// A store of coefficients, one machine after the other, counted from 0.
pub struct cpoise_store(Vec<StoredCoefficients>);

/// A store of nothing. store: the new handle.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_store_new(
    store: *mut *mut cpoise_store,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        handle::new(store)?.write(cpoise_store(Vec::new()));
        Ok(())
    })
}

/// A store from its JSON text. store: the new handle.
///
/// Refuses: text that is no JSON or no store (900), a version that is not known (1514), CPOISE_NOT_UTF8,
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_store_from_json_new(
    json_text: *const c_char,
    store: *mut *mut cpoise_store,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let store = handle::new(store)?;
        store.write(cpoise_store(json::coefficients_from_text(text(json_text, "json_text")?)?));
        Ok(())
    })
}

/// Frees a store; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_store_free(store: *mut cpoise_store) {
    guarded_value!((), { handle::free(store) });
}

/// Adds a machine at the end. kind: what its coefficients are shared with. machine: which one it is. matrix: copied.
///
/// Refuses: CPOISE_NOT_UTF8, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_store_add(
    store: *mut cpoise_store,
    kind: *const c_char,
    machine: *const c_char,
    matrix: *const cpoise_influence_matrix,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let store = handle::exclusive(store, "store")?;
        let (kind, machine) = (text(kind, "kind")?, text(machine, "machine")?);
        let matrix = handle::shared(matrix, "matrix")?.0.clone();
        store.0.push(StoredCoefficients::new(kind, machine, matrix));
        Ok(())
    })
}

/// How many machines there are.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_store_count(
    store: *const cpoise_store,
    machines: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let machines = output(machines, "machines")?;
        machines.write(handle::shared(store, "store")?.0.len());
        Ok(())
    })
}

/// The coefficients of a machine. matrix: the new handle, which does not depend on the store.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_store_influence_new(
    store: *const cpoise_store,
    machine: usize,
    matrix: *mut *mut cpoise_influence_matrix,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let matrix = handle::new(matrix)?;
        let stored = nth(&handle::shared(store, "store")?.0, machine, "machine")?;
        matrix.write(cpoise_influence_matrix(stored.influence().clone()));
        Ok(())
    })
}

/// The JSON text of a store.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_store_to_json(
    store: *const cpoise_store,
    json_text: *mut c_char,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = results(json_text, capacity, used, "json_text")?;
        write_text(to, format_args!("{}", json::coefficients_to_text(&handle::shared(store, "store")?.0)?))
    })
}

/// A prior of what the stored machines of a kind have in common. expected_spread: how far machines of the kind differ, as a
/// fraction of a coefficient. prior: the new handle, which does not depend on the store.
///
/// Refuses: a kind of which nothing is stored (1515), machines of other channels or planes (1516), a spread that cannot be
/// one (1517), CPOISE_NOT_UTF8, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_store_prior_new(
    store: *const cpoise_store,
    kind: *const c_char,
    expected_spread: f64,
    prior: *mut *mut cpoise_prior,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let prior = handle::new(prior)?;
        let store = handle::shared(store, "store")?;
        prior.write(cpoise_prior(pooled_prior(&store.0, text(kind, "kind")?, expected_spread)?));
        Ok(())
    })
}
