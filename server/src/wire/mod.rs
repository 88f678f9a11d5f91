//! The protocol: one handler a request, in `handlers`; conversions in
//! `from_proto` and `to_proto`; the streams in `transport`.

mod abilities;
mod aside;
mod asking;
mod backend;
mod changes;
mod context;
mod ending;
mod errors;
mod frames;
mod from_proto;
mod greeting;
mod halves;
mod handlers;
mod messages;
mod outgoing;
mod pages;
mod publish;
mod questions;
mod subject;
mod thread;
mod to_proto;
mod transport;
mod watch;
mod watching;
mod work_done;
mod worker;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use tower_lsp::LspService;

use backend::Backend;
use ending::Ending;
use outgoing::Outgoing;
pub use transport::Ended;

/// Serves one client over standard input and output, until it says `exit`,
/// ends its stream, or its process ends.
///
/// # Errors
/// Where the threads it needs could not be started.
pub fn serve() -> std::io::Result<Ended> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?;
    let worker = thread::start()?;
    let handle = runtime.handle().clone();
    let shut_down = Arc::new(AtomicBool::new(false));
    let properly = Arc::clone(&shut_down);
    let ended = runtime.block_on(async {
        let mut log = None;
        let building = LspService::build(|client| {
            let out = Outgoing::new(client, handle);
            log = Some(out.clone());
            worker.speak_through(out);
            Backend::new(worker)
        })
        .custom_method(handlers::overview::METHOD, Backend::derived)
        .custom_method(changes::LOST, Backend::lost)
        .custom_method("gutta/work", Backend::work);
        // The tests see to it that a fault costs one answer and no more.
        #[cfg(debug_assertions)]
        let building = building.custom_method("gutta/panic", Backend::panic);
        let (service, socket) = building.finish();
        let tell = |text| {
            if let Some(out) = &log {
                out.log_error(text);
            }
        };
        let (input, output) = (tokio::io::stdin(), tokio::io::stdout());
        transport::serve(input, output, Ending::new(service, shut_down), socket, tell).await
    });
    let ended = match ended {
        // Whoever started it is to learn that it was not asked to end.
        Ended::Closed if !properly.load(Ordering::SeqCst) => {
            Ended::Broken("the client did not ask for `shutdown` first".to_owned())
        }
        ended => ended,
    };
    // A read of standard input that never returns must not keep the process.
    runtime.shutdown_background();
    Ok(ended)
}
