//! Nests.
mod circle_cover;
mod collision;
mod construct;
mod mover;
mod random;
mod search_shape;
mod separator;
mod strip;
mod task;
mod weights;
mod working;
pub mod trial {
    //! x
    use crate::*;
    use dropwise_model::Job;
    /// x
    pub fn strip(job:&Job, seed:u64, seconds:f64) -> (f64, Vec<(usize, dropwise_geometry::Isometry)>) {
        let start=std::time::Instant::now();
        let task = task::Task::new(job, &job.parts()[0].class);
        let mut items=vec![]; for (i,p) in task.parts.iter().enumerate() { for _ in 0..p.quantity { items.push(i);} }
        let c = task.container(job,0).clone();
        let mut ch = strip::StripChain::new(&task, items.clone(), c, strip::StripSettings::default(), random::SearchRng::new(seed,0)).unwrap();
        eprintln!("start {} in {:?}", ch.best_length, start.elapsed());
        let mut last=0.0;
        loop { let t=start.elapsed().as_secs_f64(); if t>seconds {break;} ch.run(50_000, t/seconds);
          if t-last>seconds/10. { last=t; eprintln!("{t:.1} {} evals/s {:.0}", ch.best_length, ch.working.evaluations as f64/t);} }
        let b=ch.best();
        (ch.best_length, items.iter().enumerate().map(|(i,&p)|(task.parts[p].part, task.isometry(p,b.places[i].unwrap().1))).collect())
    }
}
