//! Whole balancing jobs played with counterpoise: on a record that was kept, and on machines that are simulated.
